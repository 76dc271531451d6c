"""Running the service in earnest: settings from the environment, processes, logs and metrics."""
