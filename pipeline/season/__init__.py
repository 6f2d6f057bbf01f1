"""A green's season put together: figures, works, what is due, cautions, notes and the records behind them."""
