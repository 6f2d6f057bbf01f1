"""Source profiles and corrections: what a person says of a source."""
