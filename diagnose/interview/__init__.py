"""The interview as a state machine, and the two ways of showing it."""
