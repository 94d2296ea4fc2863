"""What the coolant does: flow, heat, filling, air, draining and the leak test."""
