"""What tubes conduct: equations, their parameters for each type, and the fit to published points."""
