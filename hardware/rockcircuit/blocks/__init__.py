"""One file for each picture of the schematic; `parts()` gives its parts."""
