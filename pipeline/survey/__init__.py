"""The condition survey: what one visit measured, put together for its document."""
