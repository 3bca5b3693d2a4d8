"""The number of the way in which rockhold computes a result from a capture."""

# One more whenever the same records give another number, verdict or finding than before.
METHOD = 5
