"""Pictures of the circuit, one for each block."""
