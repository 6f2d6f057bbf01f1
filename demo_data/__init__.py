"""An invented county of bowling greens: its files, and the generator that writes them."""
