"""The world outside: invented machines, people, sensors and boards, for tests, benchmarks and demonstrations.

In: A scenario's name and a seed.
Out: A session as a host has it with the truth beside it, or its bytes on pseudo terminals in real time.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
