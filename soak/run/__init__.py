"""Time passes here and nowhere else."""
