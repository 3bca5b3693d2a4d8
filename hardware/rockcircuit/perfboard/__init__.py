"""Where the parts sit on a perfboard of 7 by 5 cm, and which holes are joined underneath."""
