"""What the operating system raises when a port fails or goes. termios exists on POSIX only; its error is no OSError."""

from __future__ import annotations

try:
    import termios

    GONE: tuple[type[Exception], ...] = (OSError, termios.error)
except ImportError:  # Windows
    GONE = (OSError,)
