"""Where jobs are kept: one SQLite file, chains of events that are only ever added to."""
