"""What is done with a board outside a recording: set up, checked, its own captures fetched."""
