"""DIN 4108 Beiblatt 2: what thermal bridges add to the mean transmittance of an envelope.

Used behind the numerics. Remembered, of the edition of 2019.
"""

from bridge2d.standards._limits import require_finite, require_positive


def mean_increase(coefficient: float, area: float) -> float:
    """ΔU, what all thermal bridges together add to the envelope's mean transmittance [W/(m²·K)].

    DIN 4108, Beiblatt 2, ΔU_WB = Σ(Ψ·l)/A of the whole envelope, here with Σχ as ISO 13789:2017, 7.2 adds it

    Args:
        coefficient: ΣΨ·l + Σχ of the envelope [W/K].
        area: of the envelope, in the dimension system of the Ψ [m²].

    Raises:
        ValueError: the area is not above zero, or the coefficient is not finite.
    """
    require_positive("the envelope's area", area, "m²")
    require_finite("the coefficient of the thermal bridges", coefficient, "W/K")
    return coefficient / area
