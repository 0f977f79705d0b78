"""What a run writes: probes, fields, balance; whole files or none."""
