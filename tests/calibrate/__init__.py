"""Whether stated confidence is kept: a simulated county of known truth (``make calibrate``)."""
