from .half_level import as_sent as as_sent
from .half_level import half_response as half_response
from .known_texture import (
    DirectionTransfer as DirectionTransfer,
)
from .known_texture import (
    RegistrationVaries as RegistrationVaries,
)
from .known_texture import (
    Transfer as Transfer,
)
from .known_texture import (
    transfer as transfer,
)
