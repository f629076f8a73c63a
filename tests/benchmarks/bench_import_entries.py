"""What does an import of a large sheet cost, and does its memory stay bounded?

Run from the top folder: ``python -m tests.benchmarks.bench_import_entries [ROWS]``. Imports a
sheet of a tenth of ROWS (default 100 000) and one of ROWS, each into a database of its own in a
process of its own, 50 rows a car. Prints processor time, peak memory and the ratios of the large
sheet to the small one: time should grow about as the rows do, memory much less.
"""

import datetime
import json
import os
import resource
import subprocess
import sys
import tempfile
from pathlib import Path
from time import process_time

ROWS_A_CAR = 50
AT = datetime.datetime(2026, 11, 25, 9, 30, tzinfo=datetime.UTC)


def main() -> None:
    """Import both sheets and print the ratios."""
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    small, large = measured(rows // 10), measured(rows)
    for found in (small, large):
        print(
            f"{found['rows']} rows: {found['seconds']:.1f} s of the processor, "
            f"peak {found['peak_mib']:.0f} MiB, {found['grown_mib']:.0f} MiB of it by the import"
        )
    for name in ("rows", "seconds", "grown_mib"):
        print(f"ratio of {name}: {large[name] / small[name]:.1f}")


def measured(rows: int) -> dict[str, float]:
    """Run one import in a process of its own."""
    with tempfile.TemporaryDirectory() as folder:
        environment = os.environ | {
            "DATABASE_URL": f"sqlite:///{folder}/benchmark.sqlite3",
            "DJANGO_SETTINGS_MODULE": "deploy.settings",
            "SECRET_KEY": "of this run alone",
        }
        command = [sys.executable, "-m", __spec__.name, "--one", str(rows)]
        done = subprocess.run(command, env=environment, stdout=subprocess.PIPE, check=True)
        return dict(json.loads(done.stdout.splitlines()[-1]))


def one(rows: int) -> None:
    """Set a club up, import a sheet, and print what it cost as JSON."""
    import django

    django.setup()
    from django.core.management import call_command

    from maintenance.services.spreadsheet.import_entries import import_entries
    from maintenance.services.spreadsheet.sheet import SheetOptions

    call_command("migrate", verbosity=0)
    club = a_club(rows // ROWS_A_CAR)
    sheet = Path(tempfile.mkstemp(suffix=".csv")[1])
    write(sheet, rows)
    begin, before = process_time(), peak_mib()
    raw = sheet.read_bytes()
    sheet.unlink()
    report = import_entries(
        raw=raw, options=SheetOptions(), collection=club, by=None, at=AT, today=AT.date()
    )
    peak = peak_mib()
    found = {"rows": report.entries_added, "seconds": process_time() - begin}
    print(json.dumps(found | {"peak_mib": peak, "grown_mib": max(peak - before, 0.1)}))


def a_club(cars: int):
    """Return a club with so many cars of one component."""
    from maintenance.models import Collection, Component, Vehicle

    club = Collection.objects.create(name="Harrowmere")
    made = Vehicle.objects.bulk_create(
        Vehicle(
            collection=club,
            registration=f"HM {number}",
            make="Tarnbrook",
            model="Heron",
            built_on=datetime.date(1968, 3, 4),
            odometer_unit="km",
        )
        for number in range(cars)
    )
    Component.objects.bulk_create(
        Component(collection=club, vehicle=car, kind="brake-fluid") for car in made
    )
    return club


def write(sheet: Path, rows: int) -> None:
    """Write a sheet whose rows of one car stand far apart, as in a club's diary."""
    first = datetime.date(2020, 1, 1)
    cars = rows // ROWS_A_CAR
    with sheet.open("w") as file:
        file.write("registration,on,odometer,component,action,note\n")
        for number in range(rows):
            visit, car = divmod(number, cars)
            day = first + datetime.timedelta(days=30 * visit)
            file.write(f"HM {car},{day},{40_000 + 100 * visit},brake-fluid,inspect,clear\n")


def peak_mib() -> float:
    """Return the most memory that this process has held so far [MiB]."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        one(int(sys.argv[2]))
    else:
        main()
