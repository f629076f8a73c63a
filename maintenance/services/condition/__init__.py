"""What state a part is in today by the physics of its ageing, with a band or the reason for none.

One part a file. An estimate is no inspection: it says where to look first, and no more. Formulas
are the engine's (`engine.ageing`); here the facts of one component are put into them.
"""

from typing import Any

from maintenance.catalogue.load import catalogue
from maintenance.engine.ageing import corrosion, friction, oil, rubber, seizure
from maintenance.models import Component
from maintenance.queries.due_answers import Answers
from maintenance.services.condition.battery import battery_condition
from maintenance.services.condition.facts import Facts
from maintenance.services.condition.fluid import fluid_condition
from maintenance.services.condition.rubber_part import rubber_condition
from maintenance.services.condition.standing_part import (
    coolant_condition,
    lining_condition,
    oil_condition,
    petrol_condition,
    seizing_condition,
)
from maintenance.services.condition.steel_part import steel_condition
from maintenance.services.condition.tyre import tyre_condition

_BY_KIND = {
    "brake-fluid": fluid_condition,
    "clutch-fluid": fluid_condition,
    "silicone-brake-fluid": fluid_condition,
    "battery": battery_condition,
    "tyre": tyre_condition,
    "coolant": coolant_condition,
    "fuel": petrol_condition,
}
_BY_MECHANISM = {
    rubber.MECHANISM: rubber_condition,
    corrosion.MECHANISM: steel_condition,
    friction.MECHANISM: lining_condition,
    seizure.MECHANISM: seizing_condition,
    oil.MECHANISM: oil_condition,
}


def condition_of(answers: Answers, component: Component) -> list[dict[str, Any]]:
    """Return the estimates of a component's state on the day of some answers about its car.

    Empty for a kind that no estimate is known for. Costs up to four queries.
    """
    mechanisms = catalogue().kinds[component.kind].mechanisms
    estimators = [_BY_KIND[component.kind]] if component.kind in _BY_KIND else []
    estimators += [_BY_MECHANISM[each] for each in mechanisms if each in _BY_MECHANISM]
    if not estimators:
        return []
    facts = Facts(answers, component)
    return [estimate.as_dict() for each in estimators for estimate in each(facts)]
