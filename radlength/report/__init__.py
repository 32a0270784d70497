"""From a record to something to look at or give away: annotated picture, PDF, HTML, tables, shared copy."""

import lazy_loader as lazy

__getattr__, __dir__, __all__ = lazy.attach_stub(__name__, __file__)
