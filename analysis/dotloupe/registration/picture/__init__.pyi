from .grid import picture_grid as picture_grid
from .search import locate_picture as locate_picture
from .sought import SoughtPicture as SoughtPicture
