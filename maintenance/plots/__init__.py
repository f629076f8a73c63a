"""Pictures of what the engine worked out, as SVG.

A drawing takes plain days and figures and gives back the text of an SVG; it computes nothing and
reads no database. The services put the figures in.
"""
