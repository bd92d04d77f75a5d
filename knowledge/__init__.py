"""What Pull Once knows about clutches, and the gate through which it is read."""
