"""Inverse prediction: Graybill, F. A. & Iyer, H. K., Regression Analysis: Concepts and
Applications, Duxbury 1994, chapter 6, the thermometer of p. 431; cited by the tests of an open R
package for inverse estimation, which give three figures for the estimate and one for its limits."""

import numpy as np
import pytest

from maintenance.engine import wear

TRUE = np.arange(96.0, 111.0, 2.0)
READ = np.array([95.71, 98.16, 99.52, 102.09, 103.79, 106.18, 108.14, 110.21])


def inverse(monkeypatch, reading, level):
    monkeypatch.setattr(wear, "BAND_LEVEL", level)
    none = np.zeros(1, dtype=bool)
    points = wear.Points(np.zeros(TRUE.size, dtype=np.int64), TRUE, READ)
    return wear.fit(points, np.array([np.nan]), np.array([reading]), none, none)


def test_a_thermometer_that_reads_104_stands_at_103_995(monkeypatch):
    found = inverse(monkeypatch, 104.0, 0.95)
    assert found.meets[0] == pytest.approx(103.995, abs=5e-4)
    assert (found.early[0], found.late[0]) == pytest.approx((103.4, 104.6), abs=0.05)


def test_a_thermometer_that_reads_100_stands_between_99_63_and_100_59(monkeypatch):
    found = inverse(monkeypatch, 100.0, 0.9)
    assert found.meets[0] == pytest.approx(100.1, abs=0.05)
    assert (found.early[0], found.late[0]) == pytest.approx((99.63, 100.59), abs=0.005)
