"""Many files at once: on all processors, stopped and continued, whatever becomes of one of them."""
