"""Loads the data files into one checked catalogue; a bad row names itself."""

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any, Protocol, TypeVar

from maintenance.catalogue.catalogue import Catalogue
from maintenance.catalogue.component_rows import ComponentRows
from maintenance.catalogue.errors import CatalogueError, Complaints
from maintenance.catalogue.kinds import Caution, Mechanism, StorageGrade
from maintenance.catalogue.quantities import Quantity
from maintenance.catalogue.regimes import InspectionRegime, regime_problems
from maintenance.catalogue.rows import NO_OTHER_KEYS, Problem, read_row
from maintenance.catalogue.rule_checks import factor_problems
from maintenance.engine.columns import GRADES


class _Sourced(Protocol):
    """A row that names where it comes from."""

    @property
    def source(self) -> str: ...


Row = TypeVar("Row", bound=_Sourced)


@dataclass(frozen=True, kw_only=True)
class _Tables:
    """A file of rows of one sort, and nothing else."""

    __pydantic_config__ = NO_OTHER_KEYS

    row: tuple[dict[str, Any], ...]


@cache
def catalogue() -> Catalogue:
    """Return the catalogue, loaded and checked at the first call and shared from then on.

    Returns
    -------
    Catalogue
        Everything the data files beside this module say.

    Raises
    ------
    CatalogueError
        If any row is wrong; it names every wrong row with its file and remedy.

    References
    ----------
    .. [1] Each row carries its own source.
    """
    return load_catalogue(files("maintenance.catalogue"))


def load_catalogue(folder: Traversable) -> Catalogue:
    """Load and check a catalogue from a folder laid out like this package's.

    Parameters
    ----------
    folder : Traversable
        Folder with the same data files and folders.

    Returns
    -------
    Catalogue
        The checked catalogue.

    Raises
    ------
    CatalogueError
        If any row is wrong; it names every wrong row with its file and remedy.

    References
    ----------
    .. [1] Common practice.
    """
    complaints = Complaints()
    quantities = _table(folder, "quantities.toml", Quantity, complaints, check=_range_problems)
    mechanisms = _table(folder, "mechanisms.toml", Mechanism, complaints, check=_factor_problems)
    cautions = _table(folder, "cautions.toml", Caution, complaints)
    components = ComponentRows(quantities, mechanisms, cautions, complaints)
    for file, document in _documents(folder / "component_kinds", complaints).items():
        components.read_system(file, document)
    rules = components.rules()
    loaded = Catalogue(
        systems=components.systems,
        kinds=components.kinds,
        rules=rules,
        mechanism_of_rule=components.mechanism_of_rule,
        quantities=quantities,
        grades=_grades(folder, complaints),
        mechanisms=mechanisms,
        cautions=cautions,
        regimes=_regimes(folder / "inspection_regimes", complaints),
    )
    complaints.raise_if_any()
    return loaded


def _document(file: Traversable) -> dict[str, Any]:
    try:
        # Decimals as written: a float would turn 1.1 into 1.100000000000000088.
        return tomllib.loads(file.read_text(encoding="utf-8"), parse_float=Decimal)
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as problem:
        raise CatalogueError([f"{file.name}: cannot be read: {problem}"]) from problem


def _documents(folder: Traversable, complaints: Complaints) -> dict[str, dict[str, Any]]:
    found = sorted(
        (file for file in folder.iterdir() if file.name.endswith(".toml")), key=lambda f: f.name
    )
    if not found:
        complaints.add(folder.name, "", "holds no file; give one a system or country")
    return {f"{folder.name}/{file.name}": _document(file) for file in found}


def _table(
    folder: Traversable,
    file: str,
    row_type: type[Row],
    complaints: Complaints,
    check: Callable[[Row], list[Problem]] = lambda row: [],
) -> dict[str, Row]:
    """Read the ``[[row]]`` tables of one file, by their slug."""
    rows: dict[str, Row] = {}
    tables, problems = read_row(_Tables, _document(folder / file))
    complaints.extend(file, "", problems)
    for index, raw in enumerate(tables.row if tables else (), start=1):
        slug = str(raw.get("slug", f"row {index}"))
        row, problems = read_row(row_type, raw)
        if row is not None:
            problems = check(row)
            if not row.source.strip():
                problems.append(Problem("source", "is empty; name it or say common practice"))
            if slug in rows:
                problems.append(Problem("slug", "stands twice in the file; take one out"))
            rows[slug] = row
        complaints.extend(file, slug, problems)
    return rows


def _range_problems(quantity: Quantity) -> list[Problem]:
    if quantity.minimum < quantity.maximum:
        return []
    return [Problem("maximum", "must be above the minimum")]


def _factor_problems(mechanism: Mechanism) -> list[Problem]:
    return [
        Problem(f"factors/{problem.field}", problem.message)
        for problem in factor_problems(mechanism.factors)
    ]


def _grades(folder: Traversable, complaints: Complaints) -> Mapping[str, StorageGrade]:
    file = "storage_grades.toml"
    grades = _table(folder, file, StorageGrade, complaints)
    if set(grades) != set(GRADES):
        complaints.add(file, "", f"must hold just the grades {', '.join(GRADES)}")
    return grades


def _regimes(folder: Traversable, complaints: Complaints) -> Mapping[str, InspectionRegime]:
    regimes: dict[str, InspectionRegime] = {}
    for name, document in _documents(folder, complaints).items():
        regime, problems = read_row(InspectionRegime, document)
        if regime is not None:
            problems = regime_problems(regime)
            if not name.endswith(f"/{regime.code}.toml"):
                problems.append(Problem("code", "must be the name of the file"))
            regimes[regime.code] = regime
        complaints.extend(name, str(document.get("code", "")), problems)
    return regimes
