"""Working length of a root canal from a periapical radiograph.

Along the curved canal, corrected by a reference of known length, with an honest uncertainty. An estimate only:
apex locator and radiographic confirmation, and the decision, are the clinician's.

Examples
--------
>>> import radlength
>>> reference = radlength.Reference(path_px=[(80, 410), (905, 452)], length_mm=21.0, limit_mm=0.25)
>>> canal = radlength.Canal(tooth="46", name="MB", path_px=[(80, 410), (500, 431), (960, 455)])
>>> estimate = radlength.estimate_length(canal, reference, terminus=radlength.Terminus(offset_mm=1.0))
>>> print(f"canal length {estimate.canal_length.value_mm:.1f} mm")
canal length 22.4 mm
"""

from __future__ import annotations

import lazy_loader as _lazy

__getattr__, __dir__, __all__ = _lazy.attach_stub(__name__, __file__)
