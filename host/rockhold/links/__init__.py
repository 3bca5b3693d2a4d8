"""Ways to a board. A link only moves bytes; everything else is shared."""
