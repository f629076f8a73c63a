"""The derivation of a due item, read off the very columns that gave the answer.

One file a criterion turns columns into lines of facts and arithmetic; `explain` puts them
together, `sentence` says the same in one plain sentence. Nothing here computes a due day anew.
"""

from maintenance.engine.working.explain import Working, explain
from maintenance.engine.working.journey import Leg
from maintenance.engine.working.lines import Derivation, Line
from maintenance.engine.working.sentence import sentence

__all__ = ["Derivation", "Leg", "Line", "Working", "explain", "sentence"]
