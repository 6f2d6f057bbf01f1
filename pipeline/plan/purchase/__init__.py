"""What to order: needs less stock, in packs by supplier at the least cost."""
