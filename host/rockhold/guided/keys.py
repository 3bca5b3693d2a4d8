"""What a person can answer in a guided job, whichever key, button or script says it."""

GO, NO, SKIP, BACK, FORWARD, AGAIN, STOP = "go", "no", "skip", "back", "forward", "again", "stop"
FREE = "free"  # the plunger hangs free now
