"""Thin commands: parse, call one library function, render."""
