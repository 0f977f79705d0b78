"""Compiled code: plain arrays, nothing allocated; imports numpy and numba, and its cache is named after all of it."""
