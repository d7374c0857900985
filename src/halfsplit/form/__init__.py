"""The written form: a small YAML of our own, read into a job and written back.

Learn it in two minutes. A job has ``title``, ``region`` (uk, eu, na, au), ``supply`` ("TN-S 230 V",
"split phase 120/240 V", "three phase 400/230 V TN-C-S", "TT", "unknown"), ``board`` or ``boards``,
``circuits`` by name, ``other paths``, ``other sources`` (words, or by name), ``history``,
``tools``, ``edition``, ``readings``, ``notes``. Only circuits are needed.

A circuit has ``device`` ("B16", "20 A breaker", "B32 RCBO 30 mA", "GFCI 20 A"), ``cable``, and one
pattern: ``run: [8 m, Bench, about 6 m, Winch]``; ``ring:`` the same with a last length home;
``branches: {Bench: [3 m, Lamp]}`` (``spurs`` for a ring); ``feeds: Shower`` with ``length``;
``lighting:`` a list of lengths and lights, each light ``{switched by: [A, B], lamp: LED 9 W}``;
or ``points: 6, order unknown``. A board's name as the end of a run makes a feeder. ``legs: L2`` or
``[L1, L2]`` says which lines; ``points: {Bench: {leg: L1, kind: socket, access: loft}}`` details;
``plugged in: {Bench: [60 W, kettle 3 kW, electronics]}`` loads; ``carries: pigtail`` how its
points are joined. A dimmer, photocell, contactor, timer or thermostat is a switch with a name.

A reading has ``at``, then pairs ``L-N: 230``, ``L-E: 0.34 ohm``, ``L-E: 0.3 MΩ at 250 V``,
``loop L-E: 0.45``; ``R1+R2``, ``R1+Rn``; or ``dead``/``insulation``/``loop``/``clamp`` with
pairs, ``ring ends``, ``ring cross``, ``ramp``; ``from``, ``to``, ``reads`` across places; or what
was seen: ``works``, ``dead``, ``lit``, ``unlit``, ``dim``, ``bright``, ``flickers``, ``glows``,
``destroyed`` (yes, no, or a list of points, circuits or all), ``trips``, ``tingle``, ``shock``,
``notice``, ``tester``; with ``by``, ``nulled``, ``showing``, ``settles``, and
``with: {off: [main switch], unplugged: all, linked: L-E at Board, parted: [jumper], left in:
kettle, rain: yes}``. Metal by itself (``other paths: {Tray: metal to earth, about
2 kΩ}``) is named in readings like a place. "about", "over", "unknown" and "over range" are
understood everywhere they make sense.
"""

from halfsplit.form.job import Job
from halfsplit.form.read import read_job, read_with_problems

__all__ = ["Job", "read_job", "read_with_problems"]
