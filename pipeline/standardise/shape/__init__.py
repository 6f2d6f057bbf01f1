"""What a profile says of a sheet as a whole, done before its cells are typed: cells filled down, values given above."""
