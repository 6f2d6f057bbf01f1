"""Weather, growth and water."""
