"""Reads that more than one caller needs, scoped to what a member may see. Nothing here writes."""
