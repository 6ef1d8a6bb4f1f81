"""What a person touches: document, pipeline, papers, files, window and commands."""

import os

# The matrices here are small. More threads on one gain little, and they wait for each other by
# spinning, which takes the other processor from a layout that is being worked out beside.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
