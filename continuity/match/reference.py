"""What the 24 patches of the colour card are, where nobody has photographed them."""

from __future__ import annotations

from functools import cache

import numpy as np

from continuity.match.light import SRGB_TO_XYZ, Floats

COLUMNS, ROWS = 6, 4
NEUTRALS = (18, 19, 20, 21, 22, 23)
"""The six greys of the last row, white first."""

LAB_D50 = np.array(
    [
        [37.54, 14.37, 14.92],
        [64.66, 19.27, 17.50],
        [49.32, -3.82, -22.54],
        [43.46, -12.74, 22.72],
        [54.94, 9.61, -24.79],
        [70.48, -32.26, -0.37],
        [62.73, 35.83, 56.50],
        [39.43, 10.75, -45.17],
        [50.57, 48.64, 16.67],
        [30.10, 22.54, -20.87],
        [71.77, -24.13, 58.19],
        [71.51, 18.24, 67.37],
        [28.37, 15.42, -49.80],
        [54.38, -39.72, 32.27],
        [42.43, 51.05, 28.62],
        [81.80, 2.67, 80.41],
        [50.63, 51.28, -14.12],
        [49.57, -29.71, -28.32],
        [95.19, -1.03, 2.93],
        [81.29, -0.57, 0.44],
        [66.89, -0.75, -0.06],
        [50.76, -0.13, 0.14],
        [35.63, -0.46, -0.48],
        [20.64, 0.07, -0.46],
    ]
)
"""CIE L*a*b* for D50, row by row from the patch "dark skin". The card is that of C. S. McCamy, H. Marcus and
J. G. Davidson, "A color-rendition chart", Journal of Applied Photographic Engineering 2(3):95-99, 1976; the
values are its maker's for cards made since November 2014, read in the Python package colour-science 0.4.7
(data set "cca2014")."""

BRADFORD_D65_TO_D50 = np.array(
    [
        [1.04781124, 0.02288660, -0.05012698],
        [0.02954240, 0.99048440, -0.01704910],
        [-0.00923449, 0.01504362, 0.75213164],
    ]
)
"""XYZ from D65 (0.95047, 1, 1.08883) to D50 (0.96422, 1, 0.82521) by the Bradford matrix, worked out with
colour-science 0.4.7."""


@cache
def card_linear() -> Floats:
    """The 24 patches in linear light, ``(24, 3)``. The cyan one lies outside sRGB: its red is negative."""
    from skimage.color import lab2xyz

    d50 = lab2xyz(LAB_D50, illuminant="D50", observer="2")
    d65 = d50 @ np.linalg.inv(BRADFORD_D65_TO_D50).T
    return np.asarray(d65 @ np.linalg.inv(SRGB_TO_XYZ).T)
