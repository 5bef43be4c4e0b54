"""The small board of the buoy in an old file; see ``cases.buoys``."""

from __future__ import annotations

OLD = rb"""(kicad_pcb (version 4) (host buoyboard "(by hand)")

  (general
    (thickness 1.6)
    (nets 4)
  )

  (page A4)
  (layers
    (0 Top signal)
    (31 Bottom signal hide)
    (37 F.SilkS user)
    (44 Edge.Cuts user)
  )

  (setup
    (trace_min 0.15)
  )

  (net 0 "")
  (net 1 GND)
  (net 2 /SONDE_TX)
  (net 3 /LED_A)

  (net_class Default "tide gauge"
    (clearance 0.15)
    (trace_width 0.25)
    (via_dia 0.6)
    (via_drill 0.3)
    (add_net /LED_A)
    (add_net /SONDE_TX)
    (add_net GND)
  )

  (module buoy:MCU4 (layer Top) (tedit 5A000001) (tstamp 5A000002)
    (at 20 10 90)
    (fp_text reference U3 (at 0 0) (layer F.SilkS))
    (fp_text value "MCU 4" (at 0 1) (layer F.SilkS))
    (fp_text user 0.96" (at 0 2) (layer F.SilkS))
    (fp_line (start -3 -2) (end 3 -2) (layer F.SilkS) (width 0.12))
    (pad 1 smd rect (at -3 -1 90) (size 1 0.5) (layers Top F.Paste F.Mask)
      (net 1 GND))
    (pad 2 smd oval (at -3 1 90) (size 1 0.5) (layers Top F.Paste F.Mask)
      (net 2 /SONDE_TX))
    (pad 3 smd rect (at 3 1 90) (size 1 0.5) (layers Top F.Paste F.Mask)
      (net 3 /LED_A) (solder_mask_margin 0.05))
    (pad 4 smd rect (at 3 -1 90) (size 1 0.5) (layers Top F.Paste F.Mask))
    (pad EP smd rect (at 0 0 90) (size 2 2) (layers Top F.Mask)
      (net 1 GND))
    (pad EP thru_hole circle (at 0 0 90) (size 0.6 0.6) (drill 0.3) (layers *.Cu)
      (net 1 GND))
    (pad "" np_thru_hole circle (at 4.5 0) (size 1 1) (drill 1) (layers *.Cu *.Mask))
  )

  (module buoy:PLUG2 locked (layer Bottom) (tedit 5A000003) (tstamp 5A000004)
    (at 30 20)
    (fp_text reference J7 (at 0 0) (layer F.SilkS))
    (fp_text value SONDE (at 0 1) (layer F.SilkS))
    (pad 1 thru_hole oval (at 0 0) (size 2 1) (drill 0.5 (offset 0.25 0)) (layers *.Cu *.Mask)
      (net 2 /SONDE_TX))
    (pad 2 thru_hole circle (at 0 2.54) (size 1.2 1.2) (drill 0.5) (layers *.Cu *.Mask)
      (net 1 GND))
  )

  (module buoy:R (layer Top) (tedit 5A000005) (tstamp 5A000006)
    (at 10 20 30)
    (fp_text reference R5 (at 0 0) (layer F.SilkS))
    (fp_text value 1k (at 0 1) (layer F.SilkS))
    (pad 1 smd rect (at -1 0 30) (size 0.8 0.9) (layers Top F.Paste F.Mask)
      (net 3 /LED_A))
    (pad 2 smd rect (at 1 0 30) (size 0.8 0.9) (layers Top F.Paste F.Mask))
  )

  (gr_line (start 0 0) (end 40 0) (angle 90) (layer Edge.Cuts) (width 0.1))
  (gr_line (start 0 0) (end 0 25) (angle 90) (layer Edge.Cuts) (width 0.1))
  (gr_arc (start 40 5) (end 40 0) (angle 90) (layer Edge.Cuts) (width 0.1))

  (segment (start 21 13) (end 30 13) (width 0.25) (layer Top) (net 2))
  (segment (start 30 13) (end 30 20) (width 0.25) (layer Top) (net 2) (tstamp 5A0000A1))
  (segment (start 5 5) (end 6 5) (width 0.25) (layer Bottom) (net 0) (status 40000))
  (via (at 30 13) (size 0.6) (drill 0.3) (layers Top Bottom) (net 2))
  (via micro (at 12 5) (size 0.4) (layers Top Bottom) (net 1))

  (zone (net 1) (net_name GND) (layer Bottom) (tstamp 5A0000B1) (hatch edge 0.508)
    (connect_pads (clearance 0.2))
    (min_thickness 0.25)
    (fill yes (arc_segments 16) (thermal_gap 0.2) (thermal_bridge_width 0.25))
    (polygon
      (pts
        (xy 1 1) (xy 39 1) (xy 39 24) (xy 1 24)
      )
    )
    (filled_polygon
      (pts
        (xy 1.125 1.125) (xy 38.875 1.125) (xy 38.875 23.875) (xy 1.125 23.875)
      )
    )
  )
  (zone (net 0) (net_name "") (layer Top) (tstamp 5A0000B2) (hatch edge 0.508)
    (connect_pads (clearance 0.2))
    (min_thickness 0.25)
    (keepout (tracks not_allowed) (vias not_allowed) (copperpour not_allowed))
    (fill (arc_segments 16) (thermal_gap 0.2) (thermal_bridge_width 0.25))
    (polygon
      (pts
        (xy 2 20) (xy 4 20) (xy 4 22)
      )
    )
  )
)
"""
