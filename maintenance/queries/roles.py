"""Who may do what: the one table of it, which queries, permissions and README.md are held by.

Each row says for some nouns and verbs how far each role reaches, and which scope a token needs:

`all`       every row of the collection
`own`       what belongs to cars that the member keeps, or to the member; in making, for themselves
`self`      what belongs to the account, whatever its memberships
`anyone`    every account, also one that is a member of no collection
`everybody` also without an account
`-`         nothing

What is not in the table is not permitted to anybody. `queries.access` turns a row into a WHERE
clause and into the answer for one object; `api.permissions` asks it before every call.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum

from maintenance.models import AccessToken, Member

TABLE = """
nouns                                        | verbs               | secretary | technical officer | keeper    | viewer    | token
collections                                  | see                 | all       | all               | all       | all       | read
collections                                  | change              | all       | -                 | -         | -         | manage
collections                                  | add                 | anyone    | anyone            | anyone    | anyone    | manage
members                                      | see                 | all       | all               | own       | own       | read
members                                      | change              | all       | -                 | -         | -         | manage
members                                      | remove, erase       | all       | own               | own       | own       | manage
invitations                                  | see                 | all       | -                 | -         | -         | read
invitations                                  | add, withdraw       | all       | -                 | -         | -         | manage
invitations                                  | accept              | everybody | everybody         | everybody | everybody | manage
transfers                                    | see                 | all       | all               | own       | own       | read
transfers                                    | add                 | all       | all               | own       | -         | manage
transfers                                    | add elsewhere       | all       | all               | -         | -         | manage
transfers                                    | confirm             | all       | all               | own       | own       | manage
transfers                                    | withdraw            | all       | all               | own       | own       | manage
transfers                                    | refuse              | own       | own               | own       | own       | manage
transfers                                    | look, reject        | anyone    | anyone            | anyone    | anyone    | manage
transfers                                    | accept              | all       | all               | -         | -         | manage
vehicles                                     | see, ask            | all       | all               | own       | all       | read
vehicles                                     | add, change, remove | all       | all               | -         | -         | manage
components, papers, specification-lines      | see                 | all       | all               | own       | all       | read
components, papers, specification-lines      | add, change, remove | all       | all               | own       | -         | manage
interval-rules                               | see                 | all       | all               | own       | all       | read
interval-rules                               | add, change, remove | all       | all               | -         | -         | manage
lay-ups, odometer-readings, odometer-changes | see                 | all       | all               | own       | all       | read
lay-ups, odometer-readings, odometer-changes | record, correct     | all       | all               | own       | -         | record
service-events, inspections, attachments     | see                 | all       | all               | own       | all       | read
service-events, inspections, attachments     | record, correct     | all       | all               | own       | -         | record
departures                                   | see                 | all       | all               | own       | all       | read
departures                                   | record, correct     | all       | all               | -         | -         | manage
findings, due-items                          | see                 | all       | all               | own       | all       | read
postponements                                | see                 | all       | all               | own       | all       | read
postponements                                | record, correct     | all       | all               | own       | -         | record
postponements                                | record for safety   | all       | all               | -         | -         | record
recommissioning-plans, plan-jobs, plan-parts | see                 | all       | all               | own       | all       | read
recommissioning-plans, plan-jobs, plan-parts | add, change, remove | all       | all               | own       | -         | record
visit-plans                                  | ask                 | all       | all               | own       | all       | read
part-offers                                  | see                 | all       | all               | all       | all       | read
part-offers                                  | add, change, remove | all       | all               | -         | -         | manage
reminders                                    | see                 | all       | all               | own       | own       | read
reminders                                    | send again          | all       | all               | -         | -         | manage
reminder-preferences                         | see                 | own       | own               | own       | own       | read
reminder-preferences                         | add, change, remove | own       | own               | own       | own       | record
reminder-preferences                         | ask for all cars    | own       | own               | -         | -         | record
calendar-feeds, webhooks                     | see                 | own       | own               | own       | own       | read
calendar-feeds, webhooks                     | add, change, remove | own       | own               | own       | own       | manage
webhook-deliveries                           | see                 | all       | all               | own       | own       | read
webhook-deliveries                           | send again          | all       | all               | own       | own       | manage
imports, import-errors, exports              | see                 | own       | own               | own       | own       | read
imports                                      | add                 | own       | own               | own       | -         | record
imports                                      | add a history file  | own       | own               | -         | -         | manage
exports                                      | add                 | own       | own               | own       | own       | read
exports                                      | add about a person  | all       | own               | own       | own       | manage
access-tokens                                | see, add, remove    | self      | self              | self      | self      | manage
changes                                      | see                 | all       | all               | own       | all       | read
component-kinds                              | see                 | anyone    | anyone            | anyone    | anyone    | read
"""  # noqa: E501 - a table is read across

SIGNED_IN = "whoever is signed in"
#: Addresses beside those of nouns, by the name of their route, and who is answered.
OTHER_ADDRESSES = {
    "start": SIGNED_IN,
    "password": SIGNED_IN,
    "tokens": SIGNED_IN,
    "due-item": SIGNED_IN,
    "revoke-token": SIGNED_IN,
    "sign-in": "everybody",
    "sign-out": "everybody",
    "operators-sign-in": "everybody",
    "forgotten-password": "everybody",
    "forgotten-password-sent": "everybody",
    "new-password": "whoever has the secret address",
    "invitation": "whoever has the secret address",
    "icon": "everybody",
    "root": "everybody",
    "openapi": "everybody",
    "docs": "everybody",
    "problems": "everybody",
    "problem": "everybody",
    "no-such-address": "everybody",
    "unsubscribe": "whoever has the signed address",
    "calendar-feed": "whoever has the secret address",
    "healthz": "everybody",
    "readyz": "everybody",
    "metrics": "whoever has METRICS_TOKEN",
}


class Reach(StrEnum):
    NOTHING = "-"
    OWN = "own"
    ALL = "all"
    SELF = "self"
    ANYONE = "anyone"
    EVERYBODY = "everybody"


@dataclass(frozen=True)
class Right:
    """How far each role reaches with one verb on one noun, and what a token needs for it."""

    reach: Mapping[str, Reach]
    scope: AccessToken.Scope

    @property
    def of_anyone(self) -> bool:
        """Say whether it needs no membership."""
        return not {Reach.SELF, Reach.ANYONE, Reach.EVERYBODY}.isdisjoint(self.reach.values())

    @property
    def of_everybody(self) -> bool:
        """Say whether it needs no account."""
        return Reach.EVERYBODY in self.reach.values()


def _read(table: str) -> Iterator[tuple[tuple[str, str], Right]]:
    heading, *rows = [[cell.strip() for cell in line.split("|")] for line in _lines(table)]
    roles = [Member.Role(name.replace(" ", "_")) for name in heading[2:-1]]
    for nouns, verbs, *reach, scope in rows:
        right = Right(dict(zip(roles, map(Reach, reach), strict=True)), AccessToken.Scope(scope))
        for noun in nouns.split(", "):
            for verb in verbs.split(", "):
                yield (noun, verb), right


def _lines(table: str) -> list[str]:
    return table.strip().splitlines()


RIGHTS: Mapping[tuple[str, str], Right] = dict(_read(TABLE))


def right_to(verb: str, noun: str) -> Right:
    """Return the right; a verb without a row is a slip of ours, and permitted to nobody."""
    if (noun, verb) not in RIGHTS:
        raise LookupError(f"queries/roles.py has no row for {noun!r}, {verb!r}")
    return RIGHTS[noun, verb]


def as_markdown() -> str:
    """Return the table as README.md shows it."""
    heading, *rows = [[cell.strip() for cell in line.split("|")] for line in _lines(TABLE)]
    lines = [heading, ["---"] * len(heading), *rows]
    return "\n".join(f"| {' | '.join(cells)} |" for cells in lines)
