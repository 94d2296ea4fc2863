"""What a choice for the loop may give for tubes that run parallel.

References
----------
One aim is bounded while the other is sought, the constraint method for two aims: Y. Y.
Haimes, L. S. Lasdon and D. A. Wismer, IEEE Transactions on Systems, Man, and Cybernetics
1 (1971). From memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True, kw_only=True)
class LengthAllowance:
    """What may be given for tubes that run parallel.

    Attributes
    ----------
    share : float
        How much longer all tubes together may become, as a share of their length.
    part : int or None
        Which part of the total may grow with the length; the others may not.
    """

    share: float
    part: int | None


NOTHING: Final = LengthAllowance(share=0.0, part=None)
