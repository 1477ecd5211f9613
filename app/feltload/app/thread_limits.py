"""Threads of the linear algebra: one in each process."""

from __future__ import annotations

THREAD_LIMITS = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS")
"""Matrices here are small: on a busy machine threads that wait for each other cost many times the work."""
