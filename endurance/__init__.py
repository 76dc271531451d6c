"""What the service does when it is killed, and under load for long: real processes, real databases."""
