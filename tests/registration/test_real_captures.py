"""Real photographs of real prints against the files that were printed.

Sample photographs of the OpenCV project (Debian's package opencv-doc 4.6.0); they lie beside the
repository in shared/real_captures and are not part of it.
"""

from pathlib import Path

import cv2
import numpy as np
import pytest

from dotloupe import load_capture, register
from dotloupe.errors import NotFitError
from dotloupe.registration.homography import map_points

FOLDER = Path(__file__).parents[2].parent / "shared" / "real_captures" / "opencv_samples"
pytestmark = pytest.mark.skipif(
    not FOLDER.is_dir(), reason="the real photographs are not beside this checkout"
)


def coded_corners(name: str) -> dict[int, np.ndarray]:
    """Corners (4, 2) of every coded square, by a general-purpose detector."""
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_6X6_250)
    settings = cv2.aruco.DetectorParameters()
    settings.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    detector = cv2.aruco.ArucoDetector(dictionary, settings)
    corners, ids, _ = detector.detectMarkers(cv2.imread(str(FOLDER / name), 0))
    found = zip(np.ravel(ids), corners, strict=True)
    return {int(i): np.reshape(c, (4, 2)).astype(float) for i, c in found}


def test_all_ids_of_the_printed_board_are_read():
    assert sorted(coded_corners("charucoboard.jpg")) == list(range(17))
    assert sorted(coded_corners("choriginal.jpg")) == list(range(17))


def test_board_registers_from_its_content_as_its_coded_squares_say():
    """Independent truth: the squares' centres. 1 px of the photograph in the median.

    The lens of that camera bends by more than a pixel towards the corners of the frame, which no
    homography follows: hence 1.5 px for the farthest. The squares were printed smaller than in
    the file, so that their corners are no truth, and their centres are.
    """
    registration = register(
        load_capture(FOLDER / "choriginal.jpg"), picture=FOLDER / "charucoboard.jpg"
    )
    seen, sent = coded_corners("choriginal.jpg"), coded_corners("charucoboard.jpg")
    mapped = map_points(
        np.linalg.inv(registration.homography), np.array([sent[i].mean(axis=0) for i in seen])
    )
    errors = np.linalg.norm(mapped - [seen[i].mean(axis=0) for i in seen], axis=1)
    assert np.median(errors) < 1.0
    assert np.max(errors) < 1.5


def keypoints(image: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Places (n, 2) and descriptors of a general-purpose detector."""
    found, descriptors = cv2.SIFT_create().detectAndCompute(image, None)
    return np.array([k.pt for k in found]), descriptors


def matches(first: np.ndarray, second: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Places in both images of what the detector takes to be the same."""
    (here, a), (there, b) = keypoints(first), keypoints(second)
    pairs = [m for m, n in cv2.BFMatcher().knnMatch(a, b, k=2) if m.distance < 0.7 * n.distance]
    return here[[m.queryIdx for m in pairs]], there[[m.trainIdx for m in pairs]]


def detector_offset(image: np.ndarray) -> np.ndarray:
    """How far the detector places everything off: half of what turning the image over shows."""
    here, there = matches(image, np.ascontiguousarray(image[::-1, ::-1]))
    turned = np.array(image.shape[::-1]) - 1 - there
    apart = here - turned
    return np.median(apart[np.linalg.norm(apart, axis=1) < 3], axis=0) / 2


@pytest.fixture(scope="module")
def pattern():
    """Where the photograph of the printed pattern lies."""
    return register(load_capture(FOLDER / "pattern_img.jpg"), picture=FOLDER / "random_pattern.jpg")


def test_pattern_registers_from_its_content(pattern, table_row):
    """Matches of a general-purpose detector lie within 1 px of the print's place.

    In pixels of the picture as many of them, less 2 %, as under the homography that is fitted
    robustly to these very matches: the sheet is bent, and 5 % lie farther than that from any
    plane. In pixels of the photograph 95 %: one of those is what a photograph can tell, and a
    pixel of the picture is smaller there, by the scale that the table says. The detector's own
    offset is measured and taken out; matches more than 3 px off agree with no other.
    """
    photograph = cv2.imread(str(FOLDER / "pattern_img.jpg"), 0)
    picture = cv2.imread(str(FOLDER / "random_pattern.jpg"), 0)
    seen, sent = matches(photograph, picture)
    seen = seen - detector_offset(photograph)
    sent = sent - detector_offset(picture)
    fitted, _ = cv2.findHomography(seen, sent, cv2.USAC_MAGSAC, 1.0)
    errors = np.linalg.norm(map_points(pattern.homography, seen) - sent, axis=1)
    fitted_errors = np.linalg.norm(map_points(fitted, seen) - sent, axis=1)
    placed = map_points(np.linalg.inv(pattern.homography), sent)
    errors_there = np.linalg.norm(placed - seen, axis=1)
    scale = pattern.pixels_per_picture_px
    assert len(errors) >= 100
    assert np.mean(errors < 3.0) >= 0.98
    share, fitted_share = float(np.mean(errors < 1.0)), float(np.mean(fitted_errors < 1.0))
    share_there = float(np.mean(errors_there < 1.0))
    table_row(
        "real photograph of a printed pattern",
        f"matches within 1 px of the picture: {100 * share:.1f} %; under their own fit "
        f"{100 * fitted_share:.1f} %; within 1 px of the photograph: {100 * share_there:.1f} %, at "
        f"{scale:.2f} of its pixels a picture pixel",
    )
    assert share >= fitted_share - 0.02
    assert scale < 1.0
    assert share_there >= 0.95


def test_corners_of_the_printed_pattern_are_placed_right(pattern):
    """The sheet's printed corners, read off the photograph by eye, clockwise: 3 px."""
    read_off = np.array([[501.0, 286.0], [147.0, 329.0], [123.0, 38.0], [527.0, 41.0]])
    outline = np.array([[-0.5, -0.5], [424.5, -0.5], [424.5, 299.5], [-0.5, 299.5]])
    placed = map_points(np.linalg.inv(pattern.homography), outline)
    assert np.max(np.linalg.norm(placed - read_off, axis=1)) < 3.0


def test_another_picture_is_not_found():
    with pytest.raises(NotFitError, match="not found in the picture"):
        register(load_capture(FOLDER / "choriginal.jpg"), picture=FOLDER / "random_pattern.jpg")
