"""Tools for those who keep the knowledge: checks, examples, trials, scaffolds."""
