"""The round problem: which visit on which run, in which order, at what time, and what it costs."""
