"""What a person sets: settings, options of method, targets, customary units."""
