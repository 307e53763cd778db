"""Seedling diagnosis from a knowledge base: questions in, ranked causes and a saved case out."""

__version__ = "0.1.0"
