"""The system of a run, its workspace, and the time integrator that steps it."""
