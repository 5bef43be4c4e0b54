"""The small board of the buoy in a middle file; see ``cases.buoys``."""

from __future__ import annotations

MIDDLE = rb"""(kicad_pcb (version 20211014) (generator buoyboard)

  (general
    (thickness 1.6)
  )

  (paper "A4")
  (layers
    (0 "F.Cu" signal)
    (31 "B.Cu" signal)
    (37 "F.SilkS" user "F.Silkscreen")
    (44 "Edge.Cuts" user)
  )

  (setup
    (stackup
      (layer "F.SilkS" (type "Top Silk Screen"))
      (layer "F.Cu" (type "copper") (thickness 0.035))
      (layer "dielectric 1" (type "core") (thickness 1.51) (material "FR4") (epsilon_r 4.5)
        (loss_tangent 0.02))
      (layer "B.Cu" (type "copper") (thickness 0.035))
      (copper_finish "None")
    )
    (pad_to_mask_clearance 0)
  )

  (net 0 "")
  (net 1 "GND")
  (net 2 "/SONDE_TX")
  (net 3 "/LED_A")
  (net 4 "unconnected-(U3-Pad4)")
  (net 5 "unconnected-(R5-Pad2)")

  (footprint "buoy:MCU4" (layer "F.Cu")
    (tedit 5A000001) (tstamp 5a02)
    (at 20 10 90)
    (property "Sheetname" "Brain")
    (path "/5a0a")
    (attr smd)
    (fp_text reference "U3" (at 0 0) (layer "F.SilkS"))
    (fp_text value "MCU 4" (at 0 1) (layer "F.SilkS") hide)
    (fp_text user "0.96\"" (at 0 2) (layer "F.SilkS"))
    (fp_line (start -3 -2) (end 3 -2) (layer "F.SilkS") (width 0.12))
    (pad "1" smd rect (at -3 -1 90) (size 1 0.5) (layers "F.Cu" "F.Paste" "F.Mask")
      (net 1 "GND") (pinfunction "VSS") (pintype "power_in") (tstamp 5ac1))
    (pad "2" smd oval locked (at -3 1 90) (size 1 0.5) (layers "F.Cu" "F.Paste" "F.Mask")
      (net 2 "/SONDE_TX") (pinfunction "IO_A1") (pintype "bidirectional") (tstamp 5ac2))
    (pad "3" smd rect (at 3 1 90) (size 1 0.5) (layers "F.Cu" "F.Paste" "F.Mask")
      (net 3 "/LED_A") (pinfunction "IO_A2")
      (pintype "bidirectional") (solder_mask_margin 0.05) (tstamp 5ac3))
    (pad "4" smd rect (at 3 -1 90) (size 1 0.5) (layers "F.Cu" "F.Paste" "F.Mask")
      (net 4 "unconnected-(U3-Pad4)") (pinfunction "IO_A3")
      (pintype "bidirectional+no_connect") (tstamp 5ac4))
    (pad "EP" smd rect (at 0 0 90) (size 2 2) (layers "F.Cu" "F.Mask")
      (net 1 "GND") (pinfunction "VSS") (pintype "power_in") (tstamp 5ac5))
    (pad "EP" thru_hole circle (at 0 0 90) (size 0.6 0.6) (drill 0.3) (layers *.Cu)
      (net 1 "GND") (pinfunction "VSS") (pintype "power_in") (tstamp 5ac6))
    (pad "" np_thru_hole circle (at 4.5 0) (size 1 1) (drill 1) (layers *.Cu *.Mask) (tstamp 5ac7))
  )

  (footprint "buoy:PLUG2" locked (layer "B.Cu")
    (tedit 5A000003) (tstamp 5a04)
    (at 30 20)
    (fp_text reference "J7" (at 0 0) (layer "F.SilkS"))
    (fp_text value "SONDE" (at 0 1) (layer "F.SilkS"))
    (pad "1" thru_hole oval (at 0 0) (size 2 1) (drill 0.5 (offset 0.25 0)) (layers *.Cu *.Mask)
      (net 2 "/SONDE_TX") (pintype "passive") (tstamp 5ad1))
    (pad "2" thru_hole circle (at 0 2.54) (size 1.2 1.2) (drill 0.5) (layers *.Cu *.Mask)
      (net 1 "GND") (pintype "passive") (tstamp 5ad2))
  )

  (footprint "buoy:R" (layer "F.Cu")
    (tedit 5A000005) (tstamp 5a06)
    (at 10 20 30)
    (fp_text reference "R5" (at 0 0) (layer "F.SilkS"))
    (fp_text value "1k" (at 0 1) (layer "F.SilkS"))
    (pad "1" smd rect (at -1 0 30) (size 0.8 0.9) (layers "F.Cu" "F.Paste" "F.Mask")
      (net 3 "/LED_A") (pintype "passive") (tstamp 5ae1))
    (pad "2" smd rect (at 1 0 30) (size 0.8 0.9) (layers "F.Cu" "F.Paste" "F.Mask")
      (net 5 "unconnected-(R5-Pad2)") (pintype "passive+no_connect") (tstamp 5ae2))
  )

  (gr_line (start 0 0) (end 40 0) (layer "Edge.Cuts") (width 0.1))
  (gr_line (start 0 0) (end 0 25) (layer "Edge.Cuts") (width 0.1))
  (gr_arc (start 40 0) (mid 43.535534 1.464466) (end 45 5) (layer "Edge.Cuts") (width 0.1))

  (segment (start 21 13) (end 30 13) (width 0.25) (layer "F.Cu") (net 2) (tstamp 5aa0))
  (segment (start 30 13) (end 30 20) (width 0.25) (layer "F.Cu") (net 2) (tstamp 5aa1))
  (segment locked (start 5 5) (end 6 5) (width 0.25) (layer "B.Cu") (net 0) (tstamp 5aa2))
  (via (at 30 13) (size 0.6) (drill 0.3) (layers "F.Cu" "B.Cu") (net 2) (tstamp 5aa3))
  (via micro (at 12 5) (size 0.4) (layers "F.Cu" "B.Cu") (net 1) (tstamp 5aa4))

  (zone (net 1) (net_name "GND") (layer "B.Cu") (tstamp 5ab1) (hatch edge 0.508)
    (connect_pads (clearance 0.2))
    (min_thickness 0.25)
    (fill yes (thermal_gap 0.2) (thermal_bridge_width 0.25))
    (polygon
      (pts
        (xy 1 1) (xy 39 1) (xy 39 24) (xy 1 24)
      )
    )
    (filled_polygon
      (layer "B.Cu")
      (pts
        (xy 1.125 1.125) (xy 38.875 1.125) (xy 38.875 23.875) (xy 1.125 23.875)
      )
    )
  )
  (zone (net 0) (net_name "") (layer "F.Cu") (tstamp 5ab2) (hatch edge 0.508)
    (connect_pads (clearance 0.2))
    (min_thickness 0.25)
    (keepout (tracks not_allowed) (vias not_allowed) (pads allowed)
      (copperpour not_allowed) (footprints allowed))
    (fill (thermal_gap 0.2) (thermal_bridge_width 0.25))
    (polygon
      (pts
        (xy 2 20) (xy 4 20) (xy 4 22)
      )
    )
  )
)
"""
