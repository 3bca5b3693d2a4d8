"""An index of captures: made from the files, and made again from them at any time."""
