"""Cases on disk: an append-only journal each, never losing an answer."""
