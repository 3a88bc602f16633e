"""The rules of the checks: what each asks or refuses and why, its limits, and which limits are in force. Pure code.

A finding carries the code of its rule; a value that is asked about also carries its column, and has a rule of
its own. The checks themselves stand in ``surveys.uploads`` and ``surveys.entry``.
"""

from surveys.rules.in_force import Rules
from surveys.rules.registry import ALL, RULES, key_of
from surveys.rules.rule import ASK, HARD, NOTE, Limit, Rule

__all__ = ["ALL", "ASK", "HARD", "NOTE", "RULES", "Limit", "Rule", "Rules", "key_of"]
