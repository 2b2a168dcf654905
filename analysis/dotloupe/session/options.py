"""How a run measures: one frozen set of options for all of its captures."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from dotloupe.units import VIEWING_DISTANCE_MM

if TYPE_CHECKING:
    from dotloupe.capture import ExposurePair, FlatField
    from dotloupe.evaluate import CameraByScale, ReferenceEdge
    from dotloupe.session.own_picture_option import OwnPictureFile

Progress = Callable[[str], None]
"""Called with a file's name when it is done."""


@dataclass(frozen=True)
class RunOptions:
    """How the captures of a run are measured.

    Attributes
    ----------
    picture : OwnPictureFile or None
        The picture that photographs without a patch's marks show.
    camera : ReferenceEdge or None
        Taken out of edges and grain of patches.
    camera_by_scale : CameraByScale or None
        In place of it, what two distances of one print tell of the camera.
    find_camera : bool
        Where neither is given, look for two distances of one print among the run's captures.
    blank : FlatField or None
        Light of blank paper, divided out of every capture.
    exposures : ExposurePair or None
        Two exposures of one frame, by which the camera's tone curve is taken out.
    pair_shots : bool
        Take the camera's noise out of the grain by a second shot of the unmoved print, where one
        lies beside the first.
    turned : bool
        The prints were fed turned by 90 degrees: x and y of their patches are exchanged.
    true_width_mm : float or None
        Width over the corner marks of every patch, measured on the print.
    viewing_distance_mm : float
        From which the prints are looked at.
    cluster : str or None
        Address of a Dask scheduler whose workers measure in place of this machine's.
    progress : callable or None
        Called with each file's name when it is done.
    """

    picture: OwnPictureFile | None = None
    camera: ReferenceEdge | None = None
    camera_by_scale: CameraByScale | None = None
    find_camera: bool = True
    blank: FlatField | None = None
    exposures: ExposurePair | None = None
    pair_shots: bool = True
    turned: bool = False
    true_width_mm: float | None = None
    viewing_distance_mm: float = VIEWING_DISTANCE_MM
    cluster: str | None = None
    progress: Progress | None = None

    @property
    def references(self) -> str:
        """Names of all that goes into each measurement, by content, for a cache's key."""
        names = [] if self.picture is None else [self.picture.content_key]
        names += [] if self.camera is None else [f"camera {self.camera.sha256}"]
        scales = self.camera_by_scale
        names += [] if scales is None else [f"scales {f.sha256}" for f in scales.files]
        names += [] if self.blank is None else [f"blank {self.blank.sha256}"]
        pair = self.exposures
        names += [] if pair is None else [f"exposures {pair.sha256} {pair.half_sha256}"]
        width = self.true_width_mm
        names += [] if width is None else [f"true width {width!r}"]
        return " ".join(names)

    @property
    def paths_by_scale(self) -> tuple[str, str] | None:
        """Where the two distances of one print lie that the camera was found from."""
        if self.camera_by_scale is None:
            return None
        far, near = self.camera_by_scale.files
        return far.path, near.path

    def for_workers(self) -> RunOptions:
        """The same, without what concerns the process that collects the results alone."""
        return replace(self, cluster=None, progress=None)


DEFAULT_OPTIONS = RunOptions()
