"""Words that several commands print."""

IN_STORE = " (in store)"
"""Stands after the component of what is asked for only while a car or a part is in store."""
