"""What a person sees while a capture is recorded."""
