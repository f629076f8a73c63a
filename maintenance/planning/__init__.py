"""Plans of work: from what is due to jobs, their order, a schedule, and visits.

Here belong the pure calculations of a recommissioning plan and of a visit plan: dataclasses in,
dataclasses out, the day always an argument. The rules of the trade come in as data. What does not
belong here: the catalogue's files, the database, the web, the clock.

Money is in whole minor units of one currency (pence, cents), so that sums are exact.
"""
