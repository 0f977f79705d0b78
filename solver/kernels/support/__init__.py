"""What all kernels share: constants and columns, compilation, lanes, elementary functions, norms."""
