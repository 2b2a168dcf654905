from .serving import serve as serve
