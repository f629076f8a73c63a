"""The form of a description, refused at the field by the checks of the services."""

import copy
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

from django import forms

from maintenance.services.refusals import Problem

if TYPE_CHECKING:  # generic in the stubs alone
    AnyModelForm = forms.ModelForm[Any]
else:
    AnyModelForm = forms.ModelForm


class CheckedForm(AnyModelForm):
    """Asks its page what the services would say of the row, once every field can be read."""

    page: Any
    """The `pages.Checked` that shows the form."""

    def clean(self) -> dict[str, Any] | None:
        cleaned = super().clean()
        if self.errors:
            return cleaned
        before, row = self._rows(self.cleaned_data)
        for problem in self.page.problems(row, before):
            self.add_error(*self._at_field(problem))
        return cleaned

    def _rows(self, given: dict[str, Any]) -> tuple[Any, Any]:
        """Return the row as it is stored, None for a new one, and as it is to be."""
        if self.instance._state.adding:
            row = _with(self.instance, given, given)
            self.page.lock(row)
            return None, row
        self.page.lock(self.instance)
        # Only now: what the form was opened with may be of before the locks.
        before = type(self.instance)._default_manager.get(pk=self.instance.pk)
        return before, _with(before, given, self.changed_data)

    def _at_field(self, problem: Problem) -> tuple[str | None, str]:
        steps = problem.pointer.split("/")[1:]
        field = next((name for name in _names(steps) if name in self.fields), None)
        said = problem.message
        return field, said if field or not steps else f"{' '.join(steps)}: {said}"


def _with(row: Any, given: dict[str, Any], names: Iterable[str]) -> Any:
    changed = copy.copy(row)
    for name in names:
        setattr(changed, name, given[name])
    return changed


def _names(steps: list[str]) -> Iterator[str]:
    """Yield how the field of a pointer may be called: `factor_dry` for `lay_up/factors/dry`."""
    if steps:
        yield "_".join(steps)
        yield f"factor_{steps[-1]}"
        yield steps[-1]
        yield steps[0]


def of_one_collection(row: Any, named: Iterable[str]) -> Iterator[Problem]:
    """Refuse what belongs to another collection than the row that names it."""
    for name in named:
        other = getattr(row, name)
        if other is not None and other.collection_id != row.collection_id:
            yield Problem(f"/{name}", "is of another collection; name one of this collection")
