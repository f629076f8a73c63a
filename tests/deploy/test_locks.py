"""The lock files go on being installable after a newer release of something in them is out."""

import re
from importlib.metadata import distributions
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parents[2]


def _pinned(lock):
    """Return the extras with which each distribution is pinned in a lock file, by its name."""
    lines = re.findall(r"^([\w.-]+)(?:\[(.*?)\])?==", (ROOT / lock).read_text(), re.MULTILINE)
    return {name: set(re.split(r", *", extras)) - {""} for name, extras in lines}


def _asked_with_extras(pinned):
    """Yield each (name, extras) that what is pinned asks for here, by its own extras as well."""
    for distribution in distributions():
        of_its_own = {"", *pinned.get(canonicalize_name(distribution.name), set())}
        for asked in map(Requirement, distribution.requires or []):
            if asked.extras and any(
                asked.marker is None or asked.marker.evaluate({"extra": extra})
                for extra in of_its_own
            ):
                yield canonicalize_name(asked.name), asked.extras


@pytest.mark.parametrize("lock", ["requirements.lock", "tests/requirements.lock"])
def test_what_is_asked_for_with_an_extra_is_pinned_with_it(lock):
    # pip (23.2) does not hold `name[extra]>=1` to a line `name==1.2`: it takes the newest release
    # and then finds no hash for it, so that a fresh machine cannot be set up any more.
    pinned = _pinned(lock)
    missing = {
        (name, *extras - pinned[name])
        for name, extras in _asked_with_extras(pinned)
        if name in pinned and not extras <= pinned[name]
    }
    assert missing == set()


def test_some_are_asked_for_with_extras():
    asked = list(_asked_with_extras(_pinned("tests/requirements.lock")))
    assert ("coverage", {"toml"}) in asked
    assert ("kombu", {"redis"}) in asked


def test_the_lock_of_the_tests_holds_the_same_releases():
    served, tested = (
        set(re.findall(r"^[\w.-]+.*?==\S+", (ROOT / lock).read_text(), re.MULTILINE))
        for lock in ("requirements.lock", "tests/requirements.lock")
    )
    assert served <= tested
