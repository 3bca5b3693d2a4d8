"""Torque: units, adapters, pulls, bolt patterns; pure, no file and no clock."""
