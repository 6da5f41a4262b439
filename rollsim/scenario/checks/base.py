"""What a cross-check is: it reads parts of a scenario and yields what they make wrong together.

A check reads through `Parts` alone and depends on nothing else, so that it gives the same again
as long as no key that it read has changed. `causes` of a finding are other keys that it looked at.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from rollsim.scenario.checks.parts import Parts
from rollsim.scenario.text.faults import Finding

Findings = Iterator[Finding]
Check = Callable[[Parts], Findings]
