"""What is in the case: components, ports, fittings, and the runs that are wanted."""
