"""The computation behind a bench lesson on a small brushed motor run from a microcontroller pin.

A room of this package imports only rooms below it::

    cli                                 parse, call, print
    handouts                            a lesson or a sheet on paper
    display                             notebook formatters
    panels | marking | workspace        widgets | run and judge returned sheets | a learner's own folder
    figures | reports                   matplotlib | text and HTML, returned and never printed
    sheets                              a learner's own sheet
    problems                            the question bank
    checks                              judge one answer
    reviews                             findings on a design, first power, diagnosis
    fitting | simulation | symbolic     bench to constants | time and steady states | laws, derivations, solving
    bench                               records of measurements
    parts                               Motor, Load, Supply, Pin, Mosfet, Bipolar, Diode, Drive
    writing                             quantities as text
    units                               the one registry, and the one crossing to floats
    freshness                           which cells of a notebook are old
    _kernels | errors                   numpy on floats in coherent SI | one tree of errors

The names below load on first use, so that the command line answers at once.
"""

import sys

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

if "IPython" in sys.modules:  # in a notebook: let it show derivations, verdicts and quantities as people read them
    from labkit import display

    display.register()
