"""Identifiers: UUID version 7 (RFC 9562), so that rows sort by when they were made."""

import os
import time
import uuid


def uuid7_from(milliseconds: int, random_bits: int) -> uuid.UUID:
    """The UUIDv7 of an instant in milliseconds since 1970 and 74 random bits (RFC 9562, section 5.7)."""
    value = (milliseconds & ((1 << 48) - 1)) << 80
    value |= 0x7 << 76
    value |= ((random_bits >> 62) & 0xFFF) << 64
    value |= 0b10 << 62
    value |= random_bits & ((1 << 62) - 1)
    return uuid.UUID(int=value)


def uuid7() -> uuid.UUID:
    """A new UUIDv7 of now."""
    return uuid7_from(time.time_ns() // 1_000_000, int.from_bytes(os.urandom(10)))
