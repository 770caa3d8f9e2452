"""The certificate of attendance: what a person attended, when and how long, and nothing else."""
