"""Nothing is fetched and nothing is sent: a guard for the suite, and the demo with the network taken away."""
