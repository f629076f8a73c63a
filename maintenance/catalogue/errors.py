"""What is wrong with the catalogue's own files, gathered and raised at once."""

from collections.abc import Iterable, Sequence

from maintenance.catalogue.rows import Problem


class CatalogueError(ValueError):
    """The data files of the catalogue hold a row that cannot be used.

    Parameters
    ----------
    complaints : sequence of str
        Every complaint, each with file, row, field and remedy.

    References
    ----------
    .. [1] Common practice.
    """

    def __init__(self, complaints: Sequence[str]) -> None:
        super().__init__("\n".join(complaints))
        self.complaints = tuple(complaints)


class Complaints:
    """Gathers complaints on rows, so that all are told at once.

    References
    ----------
    .. [1] Common practice.
    """

    def __init__(self) -> None:
        self._texts: list[str] = []

    def add(self, file: str, row: str, message: str) -> None:
        """Note one complaint.

        Parameters
        ----------
        file, row : str
            Name of the file and of the row; the row is empty for the file as a whole.
        message : str
            What is wrong and what to do about it.

        References
        ----------
        .. [1] Common practice.
        """
        self._texts.append(": ".join(part for part in (file, row, message) if part))

    def extend(self, file: str, row: str, problems: Iterable[Problem]) -> None:
        """Note the problems of one row.

        Parameters
        ----------
        file, row : str
            Name of the file and of the row.
        problems : iterable of Problem
            What is wrong with it.

        References
        ----------
        .. [1] Common practice.
        """
        for problem in problems:
            self.add(file, row, f"{problem.field}: {problem.message}".removeprefix(": "))

    def raise_if_any(self) -> None:
        """Raise everything noted so far.

        Raises
        ------
        CatalogueError
            If there is any complaint.

        References
        ----------
        .. [1] Common practice.
        """
        if self._texts:
            raise CatalogueError(self._texts)
