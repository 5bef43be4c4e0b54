"""One small board of the buoy, written by hand in three versions of the file format.

An old file (version 4: net table, bare names, renamed copper, no arcs, net
class), a middle one (20211014: net table, quoted names, private nets, pin
functions) and the newest (20260206: no net table, properties, locked lists).
All three mean the same except for what the version cannot say.

    U3   front, turned by 90: pads 1 GND, 2 /SONDE_TX, 3 /LED_A, 4 open, EP twice GND
    J7   back, not turned: through-hole pads 1 /SONDE_TX (with drill offset), 2 GND
    R5   front, turned by 30: pads 1 /LED_A, 2 open
"""

from __future__ import annotations

from cases.buoy_middle import MIDDLE
from cases.buoy_newest import NEWEST
from cases.buoy_old import OLD

__all__ = ["ALL", "MIDDLE", "NETLIST_D", "NETLIST_E", "NEWEST", "OLD"]

ALL = {"old": OLD, "middle": MIDDLE, "newest": NEWEST}

NETLIST_D = rb"""(export (version D)
  (design
    (source /home/tide/buoy.sch)
    (date "2026-03-01"))
  (components
    (comp (ref U3)
      (value "MCU 4")
      (footprint buoy:MCU4)
      (libsource (lib tide) (part MCU4A))
      (sheetpath (names /) (tstamps /))
      (tstamp 5A000002))
    (comp (ref J7)
      (value SONDE)
      (footprint buoy:PLUG2)
      (libsource (lib tide) (part PLUG2))
      (sheetpath (names /) (tstamps /))
      (tstamp 5A000004)))
  (libparts
    (libpart (lib tide) (part MCU4)
      (aliases
        (alias MCU4A))
      (pins
        (pin (num 1) (name VSS) (type power_in))
        (pin (num 2) (name IO_A1) (type BiDi))
        (pin (num 3) (name IO_A2) (type 3state))
        (pin (num 4) (name IO_A3) (type openCol))
        (pin (num EP) (name VSS) (type power_in))))
    (libpart (lib tide) (part PLUG2)
      (pins
        (pin (num 1) (name ~) (type passive))
        (pin (num 2) (name ~) (type passive)))))
  (libraries
    (library (logical tide)
      (uri /home/tide/tide.lib)))
  (nets
    (net (code 1) (name GND)
      (node (ref U3) (pin 1))
      (node (ref U3) (pin EP))
      (node (ref J7) (pin 2)))
    (net (code 2) (name "/SONDE TX")
      (node (ref U3) (pin 2))
      (node (ref J7) (pin 1)))))
"""

NETLIST_E = rb"""(export (version "E")
  (components
    (comp (ref "U3")
      (value "MCU 4")
      (footprint "buoy:MCU4")
      (libsource (lib "tide") (part "MCU4") (description "four pins"))
      (sheetpath (names "/") (tstamps "/"))
      (tstamps "5a02"))
    (comp (ref "J7")
      (value "SONDE")
      (footprint "buoy:PLUG2")
      (libsource (lib "tide") (part "PLUG2") (description ""))
      (sheetpath (names "/") (tstamps "/"))
      (tstamps "5a04")))
  (libparts
    (libpart (lib "tide") (part "MCU4")
      (pins
        (pin (num "1") (name "VSS") (type "power_in"))
        (pin (num "2") (name "IO_A1") (type "bidirectional"))
        (pin (num "3") (name "IO_A2") (type "tri_state"))
        (pin (num "4") (name "IO_A3") (type "open_collector"))
        (pin (num "EP") (name "VSS") (type "power_in"))))
    (libpart (lib "tide") (part "PLUG2")
      (pins
        (pin (num "1") (name "~") (type "passive"))
        (pin (num "2") (name "~") (type "passive")))))
  (nets
    (net (code "1") (name "GND")
      (node (ref "U3") (pin "1") (pinfunction "VSS") (pintype "power_in"))
      (node (ref "U3") (pin "EP") (pinfunction "VSS") (pintype "power_in"))
      (node (ref "J7") (pin "2") (pintype "passive")))
    (net (code "2") (name "/SONDE TX")
      (node (ref "U3") (pin "2") (pinfunction "IO_A1") (pintype "bidirectional"))
      (node (ref "J7") (pin "1") (pintype "passive")))
    (net (code "3") (name "unconnected-(U3-IO_A3-Pad4)")
      (node (ref "U3") (pin "4") (pinfunction "IO_A3") (pintype "open_collector+no_connect")))))
"""
"""The same in both netlist versions; pin 3 stands in no net, pin 4 in a private one at most."""
