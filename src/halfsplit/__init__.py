"""halfsplit: which wire, joint, device or appliance is at fault, and where, from readings."""

__version__ = "0.1.0"
