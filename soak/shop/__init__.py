"""The shop's memory and habits: puts the parts together."""
