"""Many images: the same job on every image of a tree, on local processes or an existing Dask scheduler.

Nothing here measures by itself: jobs call the rooms that do. A result does not depend on where it was made.
"""

import lazy_loader as lazy

__getattr__, __dir__, __all__ = lazy.attach_stub(__name__, __file__)
