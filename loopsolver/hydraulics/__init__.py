"""How the coolant goes round a planned loop: pressure, flow and temperature."""
