"""The whole job with no hardware: real board code, simulated wheel end, real host."""
