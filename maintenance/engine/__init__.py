"""The interval engine: dates, arrays and dataclasses in, dates, arrays and dataclasses out.

Everything here is plain Python and NumPy. Days are int64 since 1970-01-01, distances int64 in
tenths of a millimetre, aged days int64 in hundredths, so that a whole fleet, a chunk of it and a
single car give the same answer to the day. The day asked about is always an argument.

Not here: the catalogue (rules come in as columns), the database, the clock on the wall.
"""
