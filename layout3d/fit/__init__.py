"""Which sizes, sides, slides and ways round of one part clear everything else."""
