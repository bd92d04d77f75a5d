"""Practice: a hidden fault drawn from the model, found by an apprentice who pays in minutes."""
