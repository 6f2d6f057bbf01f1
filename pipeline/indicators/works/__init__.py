"""Works done: passes, disturbance, dressing."""
