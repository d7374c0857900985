"""The catalogue of faults: each fault as effects, its prior weight, its words."""
