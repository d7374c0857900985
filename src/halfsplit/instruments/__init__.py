"""What a meter does to the circuit and what it shows.

Any instrument sees a Thévenin source and shows a number: the wired circuit at two terminals is an
open-circuit voltage v and an impedance z, and the instrument answers with its own law.
``catalogue`` says what there is, ``show`` what each displays, ``unknown`` which it may have been
when nobody said, ``misread`` how a person may have got the figure wrong.
"""
