"""What could explain all the readings: predict, weigh, group, explain, and say where it is dangerous."""
