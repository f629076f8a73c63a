"""Why standing ages a car: one mechanism a file.

Each gives the lay-up factor of a store, never below 1, and where a source allows an estimate of
the part's present state with its band. The climate comes from `climate`, the factor's derivation
from `factors`, what was done before standing from `preparations`.

Here belong formulas of ageing with unit, range and source. Rules and their defaults do not: they
are the catalogue's. Dates do not: the clock counts them.
"""

from collections.abc import Callable

from maintenance.engine.ageing import (
    coolant,
    corrosion,
    friction,
    fuel,
    moisture,
    oil,
    rubber,
    seizure,
    self_discharge,
    tyres,
)
from maintenance.engine.ageing.climate import StoreClimate
from maintenance.engine.ageing.factors import LayUpFactor

MECHANISMS: dict[str, Callable[[str | StoreClimate], LayUpFactor]] = {
    moisture.MECHANISM: moisture.lay_up_factor,
    rubber.MECHANISM: rubber.lay_up_factor,
    tyres.MECHANISM: tyres.lay_up_factor,
    corrosion.MECHANISM: corrosion.lay_up_factor,
    friction.MECHANISM: friction.lay_up_factor,
    seizure.MECHANISM: seizure.lay_up_factor,
    self_discharge.MECHANISM: self_discharge.lay_up_factor,
    oil.MECHANISM: oil.lay_up_factor,
    coolant.MECHANISM: coolant.lay_up_factor,
    fuel.MECHANISM: fuel.lay_up_factor,
}
