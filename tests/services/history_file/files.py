"""Small history files for tests, as trees."""

import copy
import json

from maintenance.services.history_file.import_history import import_history
from maintenance.services.history_file.read import read_document

CAR = {
    "registration": "HM 77",
    "make": "Tarnbrook",
    "model": "Heron",
    "built_on": "1968-03-04",
    "first_registered_on": "1968-05-01",
    "odometer_unit": "km",
    "odometer_digits": 5,
    "inspection_regime": "gb",
    "odometer_readings": [{"on": "2026-03-01", "value": 48000}],
    "lay_ups": [{"from": "2025-10-01", "to": "2026-03-01", "storage": "dry"}],
    "components": [
        {"kind": "brake-fluid"},
        {"kind": "brake-pads", "position": "front"},
        {"kind": "half-shaft", "position": "left"},
        {
            "kind": "half-shaft-boot",
            "position": "left outer",
            "assembly": {"kind": "half-shaft", "position": "left"},
        },
    ],
    "service_events": [
        {
            "on": "2026-05-01",
            "odometer": 48100.5,
            "entries": [
                {"kind": "brake-fluid", "action": "renew", "part_number": "DOT 4"},
                {
                    "kind": "brake-pads",
                    "position": "front",
                    "action": "measure",
                    "measurement": {"quantity": "lining_thickness", "value": 6.25, "unit": "mm"},
                },
            ],
        }
    ],
}


def car(**said):
    return copy.deepcopy(CAR) | said


def file_of(*cars, **said):
    collection = {"name": "Harrowmere", "time_zone": "Europe/Lisbon", "distance_unit": "km"}
    return {"collection": collection, "vehicles": list(cars) or [car()]} | said


def tree(document):
    """Return the document as it is read from bytes: whole numbers, Decimals, no floats."""
    return read_document(json.dumps(document).encode(), limit=10**7)


def take(document, when, **said):
    """Import a document."""
    return import_history(document=tree(document), **when, **said)
