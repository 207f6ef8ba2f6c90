"""The numbers behind every result: functions of floats and arrays in coherent SI, which know numpy and scipy alone.

Units, errors in words and full docstrings are the rooms above; a kernel's docstring is a line, with units and shapes.
What has no answer is infinite or NaN as its docstring says, or a flag beside it: a kernel raises nothing of ours.

- steady states: ``steady``, ``chopper``, ``duty_control``, ``generator``
- through time: ``exponentials`` (one stretch of R and L), ``waveform``, ``switching``, ``holding``, ``engine``
- heat: ``heat``, ``warming``
- spectra: ``harmonics``, ``spectrum``
- from readings: ``regression`` and ``regression_*``, ``pooling``
"""
