from . import crop as crop
from . import files as files
from .files import Pictures as Pictures
from .files import write_pictures as write_pictures
from .viewer import viewer_content as viewer_content
