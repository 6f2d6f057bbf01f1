"""What every family of indicators rests on: records, seasons, standing against target."""
