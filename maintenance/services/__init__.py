"""The verbs that write: record, correct, lay up, import, recompute.

A service is a function with keyword-only arguments that does one thing in one transaction: it
locks the car, checks what is asked against what is known of it, writes, and has the car's due
items computed anew. What it will not do it refuses with `refusals.Refused`, naming every field at
fault; then nothing is written. The day and the instant are given to it. Here belong no formulas
(`engine`), no reads for show (`queries`) and nothing that knows of HTTP or a command line.
"""
