"""Evidence: keys, seals and their verification."""
