"""What may happen to a club's cars, in any order, over the API and behind it."""

import datetime

from maintenance.models import (
    Component,
    Departure,
    DueItem,
    Finding,
    IntervalRule,
    LayUp,
    Member,
    OdometerReading,
    Postponement,
    ServiceEvent,
    Vehicle,
)
from maintenance.services.members import change_member
from tests.factories import (
    AttachmentFactory,
    CarriedOverFactory,
    FindingFactory,
    PlanPartFactory,
    SpecificationLineFactory,
)

KINDS = ["brake-fluid", "coolant", "engine-oil", "battery"]


class Writes:
    """Each verb does one thing to something chosen at random, if there is anything to do it to."""

    def __init__(self, club, officer, members, random):
        self.club, self.officer, self.members, self.random = club, officer, members, random
        self.count = 0

    def one(self):
        verbs = [name for name in dir(type(self)) if name.startswith("do_")]
        getattr(self, self.random.choice(verbs))()

    def some(self, rows):
        found = list(rows.order_by("id"))
        return self.random.choice(found) if found else None

    def car(self):
        return self.some(Vehicle.objects.filter(collection=self.club))

    def post(self, path, **body):
        answer = self.officer.post(path, body)
        if answer.status_code >= 400:
            print(path, body, answer.content)
        return answer

    def patch(self, path, **body):
        return self.officer.patch(path, body, If_Match="*")

    def do_add_a_car(self):
        self.count += 1
        said = {"registration": f"HM 9{self.count}", "make": "Tarnbrook", "model": "Heron"}
        self.post("vehicles", collection=str(self.club.pk), odometer_unit="km", **said)

    def do_rename_a_car(self):
        self.count += 1
        self.patch(f"vehicles/{self.car().pk}", registration=f"HM 8{self.count}")

    def do_change_the_unit(self):
        unit = self.random.choice(["km", "mi"])
        self.patch(f"vehicles/{self.car().pk}", odometer_unit=unit)

    def do_give_the_car_away(self):
        keeper = self.random.choice([None, *self.members])
        self.patch(f"vehicles/{self.car().pk}", keeper=keeper and str(keeper.pk))

    do_give_the_car_back = do_give_the_car_away

    def do_remove_a_car(self):
        self.officer.delete(f"vehicles/{self.car().pk}", If_Match="*")

    def do_add_a_component(self):
        kind = self.random.choice(KINDS)
        self.post("components", vehicle=str(self.car().pk), kind=kind)

    def do_move_a_component(self):
        self.count += 1
        if part := self.some(Component.objects.filter(collection=self.club)):
            self.patch(f"components/{part.pk}", position=f"place {self.count}")

    def do_record_an_event(self):
        if part := self.some(Component.objects.filter(collection=self.club)):
            entry = {"kind": part.kind, "position": part.position, "action": "renew"}
            car = str(part.vehicle_id)
            self.post("service-events", vehicle=car, on="2026-06-01", entries=[entry])

    def do_correct_an_event(self):
        if event := self.some(ServiceEvent.objects.filter(current=True)):
            body = {"on": "2026-06-02", "reason": "the page was misread"}
            self.post(f"service-events/{event.pk}/corrections", **body)

    def do_withdraw_a_reading(self):
        if row := self.some(OdometerReading.objects.filter(current=True)):
            self.post(f"odometer-readings/{row.pk}/withdrawal", reason="another car's")

    def do_read_the_odometer(self):
        self.count += 1
        day = datetime.date(2026, 1, 1) + datetime.timedelta(days=self.count)
        value = 1000 + 10 * self.count
        self.post("odometer-readings", vehicle=str(self.car().pk), on=day.isoformat(), value=value)

    def do_lay_a_car_up(self):
        body = {"from": "2026-10-01", "storage": "dry"}
        self.post("lay-ups", vehicle=str(self.car().pk), **body)

    def do_bring_a_car_back(self):
        if row := self.some(LayUp.objects.filter(current=True, to_on=None)):
            self.post(f"lay-ups/{row.pk}/end", on="2026-11-01")

    def do_inspect(self):
        if part := self.some(Component.objects.filter(collection=self.club)):
            found = {"kind": part.kind, "position": part.position, "category": "major"}
            body = {"on": "2026-07-01", "result": "fail", "findings": [found]}
            self.post("inspections", vehicle=str(part.vehicle_id), **body)

    def do_correct_an_inspection(self):
        finding = self.some(Finding.objects.filter(inspection__current=True))
        if finding:
            body = {"on": "2026-07-02", "result": "pass", "reason": "the wrong sheet"}
            self.post(f"inspections/{finding.inspection_id}/corrections", **body)

    def do_put_an_item_off(self):
        if item := self.some(DueItem.objects.filter(collection=self.club)):
            body = {"due_item": str(item.pk), "until": "2026-12-20", "why": "booked"}
            self.post("postponements", **body)

    def do_take_that_back(self):
        if row := self.some(Postponement.objects.filter(current=True)):
            self.post(f"postponements/{row.pk}/withdrawal", reason="it can be done")

    def do_sell_a_car(self):
        self.post("departures", vehicle=str(self.car().pk), on="2026-11-20", how="sold")

    def do_take_a_car_back(self):
        if row := self.some(Departure.objects.filter(current=True, withdrawn=False)):
            self.post(f"departures/{row.pk}/withdrawal", reason="the buyer never came")

    def do_add_a_paper(self):
        body = {"kind": "insurance", "until": "2026-12-31"}
        self.post("papers", vehicle=str(self.car().pk), **body)

    def do_add_what_the_api_makes_in_other_ways(self):
        car = self.car()
        SpecificationLineFactory(vehicle=car)
        part = self.some(Component.objects.filter(vehicle=car))
        if part and not LayUp.objects.filter(vehicle=car).exists():
            over = CarriedOverFactory(
                entry__event__vehicle=car, entry__component=part, component=part
            )
            AttachmentFactory(vehicle=car, service_event=over.entry.event)
            FindingFactory(inspection__vehicle=car, component=part)
            PlanPartFactory(job__plan__vehicle=car)

    def do_make_a_rule(self):
        self.count += 1
        car = self.random.choice([None, self.car()])
        rule = {"name": f"rule {self.count}", "kind": self.random.choice(KINDS), "task": "renew"}
        terms = {"months": 12, "criticality": "safety", "source": "club rule book"}
        where = {"vehicle": str(car.pk)} if car else {}
        self.post("interval-rules", collection=str(self.club.pk), **rule, **terms, **where)

    def do_narrow_or_widen_a_rule(self):
        if rule := self.some(IntervalRule.objects.filter(collection=self.club)):
            car = self.random.choice([None, self.car()])
            self.patch(f"interval-rules/{rule.pk}", vehicle=car and str(car.pk))

    def do_offer_a_part(self):
        self.count += 1
        body = {"kind": "coolant", "name": f"coolant {self.count}", "price": 9, "currency": "EUR"}
        self.post("part-offers", collection=str(self.club.pk), **body)

    def do_change_a_role(self):
        member = Member.objects.get(pk=self.random.choice(self.members).pk)
        role = self.random.choice(["keeper", "viewer", "technical_officer"])
        change_member(member=member, version=member.version, changes={"role": role})

    def do_rename_the_collection(self):
        self.count += 1
        self.patch(f"collections/{self.club.pk}", name=f"Harrowmere {self.count}")
