"""Consistent Overhead Byte Stuffing: blocks without a zero byte back to the bytes they stand for.

S. Cheshire and M. Baker, IEEE/ACM Transactions on Networking 7(2), 1999. Decoding is short enough to be the reader's
own: binary logs must open in every installation, and a parser in plain Python can be fuzzed.
"""

_LONGEST_RUN = 0xFF


def decode_cobs(block: bytes) -> bytes | None:
    """The bytes that a block (without its closing 0x00) stands for, or None where it is no such block.

    An empty run behind a full one (``FF … 01`` at the end), which some writers add, is accepted.
    """
    decoded = bytearray()
    at, end = 0, len(block)
    while at < end:
        code = block[at]
        stop = at + code
        if code == 0 or stop > end:
            return None
        decoded += block[at + 1 : stop]
        if code != _LONGEST_RUN and stop < end:
            decoded.append(0)
        at = stop
    return bytes(decoded)
