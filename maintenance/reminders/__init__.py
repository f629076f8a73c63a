"""Telling members of what falls due: who, when, of what, and that it happens once.

`find` writes rows into the outbox, `deliver` claims and sends them through `channels`. A row is
the hand-over between the two: whatever dies in between only delays. Here belong no formulas of
what is due (`engine`), no preferences being changed (`services`) and nothing that knows Celery.
"""
