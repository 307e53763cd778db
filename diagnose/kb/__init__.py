"""The knowledge base: YAML files read strictly into frozen objects."""
