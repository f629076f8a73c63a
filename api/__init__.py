"""The REST interface: each resource translates between HTTP and one service or query.

No rule of the trade belongs here, and no formula.
"""
