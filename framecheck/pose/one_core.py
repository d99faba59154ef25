"""One core for each worker: OpenCV would start as many threads in each as there are cores."""

from __future__ import annotations


def keep_to_one_core() -> None:
    """Have OpenCV work in the thread that asks; to be called in a process of our own.

    Not in a forked one: OpenCV would wait for ever for threads that stayed behind in the parent.

    Its threads wait for each other busily, over pieces that take less than a millisecond: two of
    them cost a twentieth more processor time than one. What comes out is the same.
    """
    import cv2

    cv2.setNumThreads(1)
