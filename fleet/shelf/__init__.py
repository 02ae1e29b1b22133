"""The firmware shelf: a folder or a stick of images with a signed manifest, and what is trusted of it."""
