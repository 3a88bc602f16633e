"""Entering a visit by hand: the sheet as typed, its checks, saving it, and what comes in from the creek."""
