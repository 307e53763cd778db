"""Checks on the quality of the knowledge, a small class each."""
