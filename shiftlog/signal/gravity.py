"""How strongly gravity pulls, by latitude."""

import numpy as np

_EQUATOR_MPS2 = 9.7803253359
_K = 0.00193185265241
_E2 = 0.00669437999013


def normal_gravity(latitude_deg: float) -> float:
    """Normal gravity on the WGS 84 ellipsoid [m/s²] (Somigliana's formula; NIMA TR8350.2, third edition, 4-1).

    latitude_deg : geodetic latitude, −90 to 90
    """
    square = float(np.sin(np.deg2rad(latitude_deg)) ** 2)
    return _EQUATOR_MPS2 * (1 + _K * square) / float(np.sqrt(1 - _E2 * square))
