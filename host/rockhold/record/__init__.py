"""Recording: the conversation with a board, and what drives it."""
