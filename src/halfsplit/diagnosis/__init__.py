"""What could explain all the readings: predict, weigh, group, and say where it is dangerous."""
