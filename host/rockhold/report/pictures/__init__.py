"""Pictures of readings, torque, end play, a wheel end's life and a study."""
