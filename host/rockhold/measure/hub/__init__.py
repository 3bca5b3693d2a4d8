"""What the motion sensor on the hub shows: how far the wheel turned, and how it runs."""
