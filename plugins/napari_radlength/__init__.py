"""napari window of radlength: thin views over :class:`radlength.session.Session`."""
