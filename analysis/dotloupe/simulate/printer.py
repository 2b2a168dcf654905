"""The invented printer: its raster, its inks, its print modes and how well its head is aligned.

Every number here is invented, chosen inside what the trade publishes for desktop photo printers
with pigment or dye inks. No real printer is described.
"""

from __future__ import annotations

from dataclasses import dataclass

from dotloupe.errors import InputError

Offset = tuple[float, float]


@dataclass(frozen=True)
class Ink:
    """One ink as the light meets it.

    Attributes
    ----------
    name : str
        One of `INK_NAMES`.
    layer_density : tuple of float
        Density of reflected light in the red, green and blue band of a single dot's layer, as
        the slope at a vanishing amount of ink.
    density_limit : float
        Density in the ink's strongest band that no amount of ink exceeds: colourant buried below
        other colourant absorbs little more.
    """

    name: str
    layer_density: tuple[float, float, float]
    density_limit: float


CYAN = Ink("cyan", (1.05, 0.22, 0.08), 2.1)
MAGENTA = Ink("magenta", (0.06, 1.05, 0.28), 2.1)
YELLOW = Ink("yellow", (0.01, 0.07, 1.00), 2.0)
BLACK = Ink("black", (1.90, 1.90, 1.90), 2.9)


@dataclass(frozen=True)
class Printer:
    """What does not change between the printer's modes.

    Attributes
    ----------
    name : str
        An invented name.
    raster_ppi : float
        Resolution the driver resamples every picture to. 720 or 600 are the two families.
    dots_per_inch_x, dots_per_inch_y : float
        Lattice of places where a dot may fall; finer along the head's travel, as is usual. Whole
        multiples of `raster_ppi`.
    drop_pl : float
        Drop volume. 2 pl is within the 1 to 5 pl of photo inkjets; its sphere measures 15.6 um.
    spread_factor : float
        Dot diameter on coated paper over the drop's sphere; 1.5 to 2 is usual.
    dot_edge_um : float
        Standard deviation of the soft rim of a dot, as ink wicks into the coating.
    max_coverage : float
        Share of lattice places inked in a solid: a dot covers about four places, so that 0.7
        lays three layers, and more would only flood the paper.
    nozzles_per_inch, nozzles_per_ink : float, int
        Nozzle row of one ink: 180 nozzles at 360 to the inch are a swath of half an inch.
    nozzle_aim_um : float
        Standard deviation of each nozzle's own fixed aiming error, the same in both axes.
    black_onset : float
        Share of the densest black at which black ink starts to replace the three colours. Light
        greys are built of the three colours, whose dots show less.
    serial : int
        Seed of what is peculiar to this specimen (its nozzles).
    """

    name: str = "Makebelieve M4 (invented)"
    raster_ppi: float = 720.0
    dots_per_inch_x: float = 2880.0
    dots_per_inch_y: float = 1440.0
    drop_pl: float = 2.0
    spread_factor: float = 1.8
    dot_edge_um: float = 3.5
    inks: tuple[Ink, Ink, Ink, Ink] = (CYAN, MAGENTA, YELLOW, BLACK)
    max_coverage: float = 0.7
    nozzles_per_inch: float = 360.0
    nozzles_per_ink: int = 180
    nozzle_aim_um: float = 3.0
    black_onset: float = 0.10
    serial: int = 1

    def __post_init__(self) -> None:
        for dots, axis in ((self.dots_per_inch_x, "x"), (self.dots_per_inch_y, "y")):
            if dots < self.raster_ppi or dots % self.raster_ppi:
                raise InputError(
                    f"printer: dots_per_inch_{axis} {dots:g} is no whole multiple of raster_ppi "
                    f"{self.raster_ppi:g}: give a multiple"
                )
        if self.dots_per_inch_y % self.nozzles_per_inch:
            raise InputError(
                f"printer: dots_per_inch_y {self.dots_per_inch_y:g} is no whole multiple of "
                f"nozzles_per_inch {self.nozzles_per_inch:g}: give a multiple"
            )

    @property
    def pitch_x_um(self) -> float:
        """Distance between places for dots along the head's travel."""
        return 25400.0 / self.dots_per_inch_x

    @property
    def pitch_y_um(self) -> float:
        """Distance between places for dots along the paper feed."""
        return 25400.0 / self.dots_per_inch_y

    @property
    def dot_diameter_um(self) -> float:
        """Diameter of a dot of nominal volume on paper."""
        sphere_um = 10.0 * (6.0 * self.drop_pl / 3.141592653589793) ** (1.0 / 3.0)
        return self.spread_factor * sphere_um

    @property
    def rows_interlaced(self) -> int:
        """Dot rows between two neighbouring nozzles."""
        return round(self.dots_per_inch_y / self.nozzles_per_inch)


PRINTER_720 = Printer()
PRINTER_600 = Printer(
    name="Makebelieve M6 (invented)",
    raster_ppi=600.0,
    dots_per_inch_x=2400.0,
    dots_per_inch_y=1200.0,
    drop_pl=2.5,
    nozzles_per_inch=300.0,
    nozzles_per_ink=150,
    serial=2,
)


@dataclass(frozen=True)
class Mode:
    """How the head travels: what the driver calls quality.

    Attributes
    ----------
    name : str
        Name of the mode.
    passes : int
        Passes of the head over each place, a whole multiple of the rows between two nozzles.
        The more passes share a row, the more nozzles' errors mix in it.
    bidirectional : bool
        Whether the head prints on its way back too.
    jitter_x_um, jitter_y_um : float
        Standard deviation of each drop's own error. Along the travel it grows with speed.
    feed_error_um : float
        Standard deviation of the paper's place at each pass.
    feed_bias_um : float
        Error common to all feeds, which bands with the period of the feed: where the end of one
        swath meets the start of another, passes lie apart by all the feeds between. The scale
        error of the whole sheet, which nobody sees, is left out.
    volume_variation : float
        Relative standard deviation of the drop volume.
    satellite_share : float
        Share of drops that throw a satellite.
    satellite_um : float
        Distance of a satellite ahead of its drop, along the pass's direction; grows with speed.
    """

    name: str
    passes: int
    bidirectional: bool
    jitter_x_um: float
    jitter_y_um: float
    feed_error_um: float
    feed_bias_um: float
    volume_variation: float
    satellite_share: float
    satellite_um: float


FAST = Mode(
    name="fast",
    passes=4,
    bidirectional=True,
    jitter_x_um=7.0,
    jitter_y_um=4.0,
    feed_error_um=5.0,
    feed_bias_um=1.5,
    volume_variation=0.10,
    satellite_share=0.15,
    satellite_um=32.0,
)
FINE = Mode(
    name="fine",
    passes=16,
    bidirectional=False,
    jitter_x_um=3.0,
    jitter_y_um=2.5,
    feed_error_um=3.0,
    feed_bias_um=0.5,
    volume_variation=0.07,
    satellite_share=0.05,
    satellite_um=18.0,
)


@dataclass(frozen=True)
class Alignment:
    """State of the head: where each ink and each direction lands, in um.

    Attributes
    ----------
    cyan_um, magenta_um, yellow_um : tuple of float
        Place (x, y) of the ink's plane less that of black. A well aligned head is within 2 or
        3 um; one that has settled or been moved can be off by tens.
    bidirectional_um : float
        Place of the forward passes less that of the return passes, along x.
    """

    cyan_um: Offset = (0.0, 0.0)
    magenta_um: Offset = (0.0, 0.0)
    yellow_um: Offset = (0.0, 0.0)
    bidirectional_um: float = 0.0

    def plane_um(self, ink_name: str) -> Offset:
        """Offset (x, y) of an ink's plane against black."""
        planes = {"cyan": self.cyan_um, "magenta": self.magenta_um, "yellow": self.yellow_um}
        return planes.get(ink_name, (0.0, 0.0))


ALIGNED = Alignment(
    cyan_um=(1.5, -1.0), magenta_um=(-1.0, 1.5), yellow_um=(1.0, 1.0), bidirectional_um=3.0
)
MISALIGNED = Alignment(
    cyan_um=(22.0, -9.0), magenta_um=(-14.0, 12.0), yellow_um=(9.0, 16.0), bidirectional_um=45.0
)
