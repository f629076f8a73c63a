"""What trade and law say of cars in general: component kinds, interval rules, inspection regimes.

Here belong the data files, the frozen dataclasses of their rows, the checks on a row (also used for
the rules that people bring themselves) and the loader. Every row names its source, or says
"common practice" or "memory". Here do not belong anything about one car, the arithmetic of a due
day, or anything that reads a database.

Read it through :func:`maintenance.catalogue.load.catalogue`, once loaded and then shared.
"""
