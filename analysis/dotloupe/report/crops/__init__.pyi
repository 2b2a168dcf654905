from . import files as files
from .files import Pictures as Pictures, write_pictures as write_pictures
from .viewer import viewer_content as viewer_content
