"""The keys of an interval rule in a history file."""

from typing import Annotated, ClassVar

from pydantic import Field

from maintenance.catalogue.rules import APPLIES, WEAR_AGAINST
from maintenance.engine.columns import CRITICALITIES, TASKS
from maintenance.services.history_file.tolerant import Flag, Number, Text, Tolerant, Whole
from maintenance.services.history_file.words import Kind, Position, one_of


class FactorsRow(Tolerant):
    """How many days one laid-up day counts, by storage grade; 1 or more, two decimals."""

    heated: Number | None = None
    dry: Number | None = None
    damp: Number | None = None
    outdoors: Number | None = None


class LayUpTermsRow(Tolerant):
    """How standing counts against a rule; an absent factor is 1."""

    factors: FactorsRow | None = None
    km_per_month: Number | None = None


class WearRow(Tolerant):
    """The measured value at which a component is worn out: a minimum or a maximum."""

    required: ClassVar = ("quantity", "unit")

    quantity: Text | None = None
    unit: Text | None = None
    new: Number | None = None
    minimum: Number | None = None
    maximum: Number | None = None
    against: Annotated[Text, one_of(*WEAR_AGAINST)] | None = None


class RuleRow(Tolerant):
    """An interval rule, for a car, a make, a model, a position, or the whole collection."""

    required: ClassVar = ("name", "kind", "task", "criticality", "source")

    name: Text | None = None
    kind: Kind | None = None
    vehicle: Annotated[Text, Field(description="Registration of the car.")] | None = None
    make: Text | None = None
    model: Text | None = None
    position: Position | None = None
    task: Annotated[Text, one_of(*TASKS)] | None = None
    months: Whole | None = None
    distance_km: Number | None = None
    lay_up: LayUpTermsRow | None = None
    before_use_after_months: Whole | None = None
    applies: Annotated[Text, one_of(*APPLIES)] | None = None
    wear: WearRow | None = None
    counts_shelf_age: Flag | None = None
    warn_days: Whole | None = None
    warn_distance_km: Number | None = None
    criticality: Annotated[Text, one_of(*CRITICALITIES)] | None = None
    source: Text | None = None
