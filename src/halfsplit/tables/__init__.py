"""Published numbers with their sources. One module per subject; old editions stay.

Every row knows its unit, its temperature where that matters, how far it may be trusted, and where
it comes from. A value that nobody published says so: "common practice", "from memory", "computed"
or "judgement".
"""
