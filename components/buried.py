"""Heat that buried bodies and foundations give to the ground: shape factors of steady conduction, and the resistance
of a solid around a pipe."""

from __future__ import annotations

from math import acosh, log, pi

from loopnet.errors import ParameterError

__all__ = ["around_pipe", "disk_on_ground", "foundation", "half_ball", "pipe_below_ground", "sphere_below_ground",
           "upright_cylinder"]


def sphere_below_ground(diameter: float, depth: float) -> float:
    """Shape factor of a sphere under an isothermal surface: S = 2 pi D / (1 - D / 4z), Q = S k dT.

    Parameters
    ----------
    diameter : float
        Of the sphere [m].
    depth : float
        Of its centre [m], at least half the diameter.

    Returns
    -------
    float
        Shape factor [m].

    Raises
    ------
    ParameterError
        If the sphere reaches out of the ground.

    References
    ----------
    Incropera et al., Fundamentals of Heat and Mass Transfer, table 4.1 (from memory).

    Examples
    --------
    A sphere of 2 m, 10 m deep in soil of 0.52 W/m/K, gives off 500 W: it is 72.7 K above the surface.

    >>> round(500 / (0.52 * sphere_below_ground(2.0, 10.0)), 1)
    72.7
    """
    _buried(diameter / 2, depth, "sphere")
    return 2 * pi * diameter / (1 - diameter / (4 * depth))


def pipe_below_ground(length: float, diameter: float, depth: float) -> float:
    """Shape factor of a pipe along an isothermal surface: S = 2 pi L / arcosh(2z / D).

    Parameters
    ----------
    length, diameter : float
        Of the pipe [m]; long against its depth.
    depth : float
        Of its axis [m], more than half the diameter.

    Returns
    -------
    float
        Shape factor [m].

    Raises
    ------
    ParameterError
        If the pipe reaches out of the ground.

    References
    ----------
    Incropera et al., table 4.1 (from memory).

    Examples
    --------
    Cengel, example 3-11: 30 m of 10 cm pipe, 50 cm deep, 0.9 W/m/K, 80 over 10 degC: 3963 W with S = 62.9 m.

    >>> round(pipe_below_ground(30.0, 0.10, 0.50), 1)
    63.0
    """
    _buried(diameter / 2 * (1 + 1e-12), depth, "pipe")
    return 2 * pi * length / acosh(2 * depth / diameter)


def upright_cylinder(length: float, diameter: float) -> float:
    """Shape factor of an upright cylinder from the surface down, much longer than wide: S = 2 pi L / ln(4L / D).

    Parameters
    ----------
    length, diameter : float
        Of the cylinder [m]; the diameter below the length.

    Returns
    -------
    float
        Shape factor [m].

    Raises
    ------
    ParameterError
        If it is wider than long.

    References
    ----------
    Incropera et al., table 4.1 (from memory).

    Examples
    --------
    >>> round(upright_cylinder(35.0, 0.15), 2)
    32.16
    """
    if not 0 < diameter < length:
        raise ParameterError("the formula is for a slender cylinder", where="upright cylinder",
                             got=f"{diameter:g} m wide, {length:g} m long", allowed="a diameter below the length",
                             hint="half_ball for a body about as deep as it is wide")
    return 2 * pi * length / log(4 * length / diameter)


def disk_on_ground(diameter: float) -> float:
    """Shape factor of a round isothermal plate on the ground: S = 2 D.

    Parameters
    ----------
    diameter : float
        Of the disk [m].

    Returns
    -------
    float
        Shape factor [m].

    References
    ----------
    Incropera et al., table 4.1 (from memory).

    Examples
    --------
    >>> disk_on_ground(10.0)
    20.0
    """
    return 2 * diameter


def half_ball(radius: float) -> float:
    """Shape factor of a half ball in ground whose surface is insulated: S = 2 pi a.

    Parameters
    ----------
    radius : float
        Of the half ball [m].

    Returns
    -------
    float
        Shape factor [m].

    Notes
    -----
    Half of a sphere in an endless body, 4 pi a.

    Examples
    --------
    >>> round(half_ball(10.0), 2)
    62.83
    """
    return 2 * pi * radius


def foundation(diameter: float, thickness: float, conductivity: float, ground: float) -> float:
    """Conductance of a round tank's foundation: insulation of its area, then the ground as under a disk.

    U A = 1 / (t / (k A) + 1 / (S k_ground)), S = 2 D.

    Parameters
    ----------
    diameter : float
        Of the tank [m].
    thickness : float
        Of the insulation below it [m]; 0 for none.
    conductivity, ground : float
        Of insulation and ground [W/m/K].

    Returns
    -------
    float
        Conductance [W/K]. Steady: a tank reaches it after years, and loses more before.

    Examples
    --------
    A tank of 20 m at 386 degC on half a metre of light clay and soil of 1.5 W/m/K, air at 25 degC; pilot tanks, cooled
    from below and smaller, lost 61 W/m2 through the bottom (Prieto et al., Solar Energy 135 (2016) 518).

    >>> round(foundation(20.0, 0.5, 0.15, 1.5) * 361 / 314.16)
    42
    """
    area = pi * diameter**2 / 4
    return 1 / (thickness / (conductivity * area) + 1 / (disk_on_ground(diameter) * ground))


def around_pipe(inner: float, outer: float, conductivity: float) -> float:
    """Resistance, times length, between the wall of a pipe and the mean of the solid around it, warming evenly.

    R = (b^4 ln(b/a) / (b^2 - a^2)^2 - (3 b^2 - a^2) / (4 (b^2 - a^2))) / (2 pi k): the hollow cylinder a < r < b whose
    outside passes no heat, once its profile has formed.

    Parameters
    ----------
    inner, outer : float
        Radius of the pipe's outside [m], and of the solid that belongs to it [m].
    conductivity : float
        Of the solid [W/m/K].

    Returns
    -------
    float
        Resistance [m K/W].

    Raises
    ------
    ParameterError
        If the solid is not wider than the pipe.

    Notes
    -----
    Good after about 0.1 b^2 / diffusivity; before, heat passes more easily than this says. Derived from the steady
    profile of a hollow cylinder with an even sink (Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed., ch. 7,
    from memory).

    Examples
    --------
    >>> round(around_pipe(0.01, 0.05, 1.2), 4)
    0.1294
    """
    if not 0 < inner < outer:
        raise ParameterError("the solid around a pipe must be wider than the pipe", where="around_pipe",
                             got=f"{outer:g} m around {inner:g} m", allowed=f"more than {inner:g} m",
                             hint="pipes further apart, or thinner ones")
    a, b = inner * inner, outer * outer
    return (b * b * log(outer / inner) / (b - a) ** 2 - (3 * b - a) / (4 * (b - a))) / (2 * pi * conductivity)


def _buried(radius: float, depth: float, what: str) -> None:
    if not (radius > 0 and depth >= radius):
        raise ParameterError(f"the {what} must lie below the surface", where=f"{what} below ground",
                             got=f"radius {radius:g} m, depth {depth:g} m", allowed="a depth of at least the radius",
                             hint="the depth of the centre, not of the top")
