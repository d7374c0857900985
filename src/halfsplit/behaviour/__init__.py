"""What loads, lamps, protective devices and people do when a circuit is put before them.

The wiring is linear; what is not hangs on ports as laws i(v). ``laws`` gives the currents,
``output`` what is seen, ``trips`` what parts the circuit, ``body`` what a person takes and feels.
"""
