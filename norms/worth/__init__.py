"""What a table is worth: calibration, bridging to another panel, reliability."""
