"""What holds for every test."""

import os

# As the command line does it: our arrays are small, and threads of several workers only wait for each other.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
