"""Readings and results as tables for other programs."""
