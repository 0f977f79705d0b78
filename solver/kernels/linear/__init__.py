"""Linear solution: incomplete factorisation and BiCGStab. Rows and blocks are known here and nowhere else."""
