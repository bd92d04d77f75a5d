"""Layout and wiring of what is on the screen."""
