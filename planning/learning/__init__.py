"""What finished jobs teach about the time that stages take."""
