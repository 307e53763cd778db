"""One result document and the renderers that read nothing else."""
