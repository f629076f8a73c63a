"""Examples of questions about the time to come, and of their answers, for the OpenAPI document."""

from maintenance.services import projection, trip_check

ASKED = {
    "projection": {
        "lay_ups": [{"from": "2027-10-20", "to": "2028-04-01", "storage": "damp"}],
        "distance": {"amount": 1200},
        "done": [{"kind": "brake-fluid", "task": "renew", "on": "2027-04-10"}],
        "months": 60,
    },
    "trip_check": {
        "from": "2027-06-05",
        "to": "2027-06-14",
        "distance": 900,
        "countries": ["FR"],
    },
}

_FLUID = {
    "component": "brake-fluid",
    "position": "",
    "rule": "brake fluid renewal",
    "task": "renew",
    "criticality": "safety",
    "source": "common practice",
    "caution": "Brake fluid harms paint and skin.",
}
ANSWERED = {
    "projection": {
        "vehicle": "VO 1964",
        "on": "2026-11-25",
        "until": "2031-11-25",
        "odometer_unit": "mi",
        "assumes": ["Laid up from 2027-10-20 to 2028-04-01, damp."],
        "items": [
            _FLUID
            | {
                "storage_care": False,
                "today": {
                    "status": "in_date",
                    "due_on": "2027-05-02",
                    "governed_by": "time",
                    "sentence": "Brake fluid: renewed on 2025-05-02; the limit of 24 months for "
                    "its renewal is reached on 2027-05-02.",
                },
                "projected": [
                    {
                        "counted_from": "2025-05-02",
                        "due_on": "2027-05-02",
                        "governed_by": "time",
                        "done_on": "2027-04-10",
                        "sentence": "Brake fluid: renewed on 2025-05-02; the limit of 24 months "
                        "for its renewal is reached on 2027-05-02.",
                    }
                ],
                "says": "",
                "by_season": None,
                "days_later": 0,
            }
        ],
        "note": projection.NOTE,
    },
    "trip_check": {
        "vehicle": "VO 1964",
        "on": "2026-11-25",
        "from": "2027-06-05",
        "to": "2027-06-14",
        "distance": 900,
        "odometer_unit": "mi",
        "countries": ["FR"],
        "assumes": ["The trip's 900 mi are spread evenly over its 10 days."],
        "before_departure": [
            _FLUID
            | {
                "reason": "due_before_departure",
                "status": "in_date",
                "due_on": "2027-05-02",
                "after_distance": None,
                "sentence": "Brake fluid: renewed on 2025-05-02; the limit of 24 months for its "
                "renewal is reached on 2027-05-02.",
                "cleared_by": "Renew it and record it.",
            }
        ],
        "on_the_way": [],
        "after_return": [],
        "inspection": {
            "needed": True,
            "certificate_until": "2027-09-10",
            "days": [{"from": "2027-06-05", "to": "2027-06-14", "valid": True}],
            "notes": [],
        },
        "papers": [],
        "note": trip_check.NOTE,
    },
}
