from .edge_behind import halo as halo
from .half_level import as_sent as as_sent, half_response as half_response
from .known_texture import (
    DirectionTransfer as DirectionTransfer,
    RegistrationVaries as RegistrationVaries,
    Transfer as Transfer,
    transfer as transfer,
)
