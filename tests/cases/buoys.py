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

NEWEST = b"""(kicad_pcb
	(version 20260206)
	(generator "buoyboard")
	(generator_version "10.0")
	(general
		(thickness 1.6)
		(legacy_teardrops no)
	)
	(paper "A4")
	(layers
		(0 "F.Cu" signal)
		(2 "B.Cu" signal)
		(5 "F.SilkS" user "F.Silkscreen")
		(25 "Edge.Cuts" user)
	)
	(setup
		(stackup
			(layer "F.SilkS"
				(type "Top Silk Screen")
			)
			(layer "F.Cu"
				(type "copper")
				(thickness 0.035)
			)
			(layer "dielectric 1"
				(type "core")
				(thickness 1.51)
				(material "FR4")
				(epsilon_r 4.5)
				(loss_tangent 0.02)
			)
			(layer "B.Cu"
				(type "copper")
				(thickness 0.035)
			)
			(copper_finish "None")
		)
		(pad_to_mask_clearance 0)
	)
	(footprint "buoy:MCU4"
		(layer "F.Cu")
		(uuid "5a02")
		(at 20 10 90)
		(property "Reference" "U3"
			(at 0 0 90)
			(layer "F.SilkS")
		)
		(property "Value" "MCU 4"
			(at 0 1 90)
			(layer "F.SilkS")
			(hide yes)
		)
		(property "Reference note" "U99"
			(at 0 1 90)
			(unlocked yes)
			(layer "F.SilkS")
		)
		(path "/5a0a")
		(units
			(unit
				(name "A")
				(pins "1" "2" "3" "4" "EP")
			)
		)
		(attr smd)
		(fp_text user "0.96\\""
			(at 0 2 90)
			(layer "F.SilkS")
		)
		(pad "1" smd rect
			(at -3 -1 90)
			(size 1 0.5)
			(layers "F.Cu" "F.Mask" "F.Paste")
			(net "GND")
			(pinfunction "VSS")
			(pintype "power_in")
			(uuid "5ac1")
		)
		(pad "2" smd oval
			(at -3 1 90)
			(size 1 0.5)
			(layers "F.Cu" "F.Mask" "F.Paste")
			(net "/SONDE_TX")
			(pinfunction "IO_A1")
			(pintype "bidirectional")
			(uuid "5ac2")
		)
		(pad "3" smd rect
			(at 3 1 90)
			(size 1 0.5)
			(layers "F.Cu" "F.Mask" "F.Paste")
			(net "/LED_A")
			(pinfunction "IO_A2")
			(pintype "bidirectional")
			(solder_mask_margin 0.05)
			(uuid "5ac3")
		)
		(pad "4" smd rect
			(at 3 -1 90)
			(size 1 0.5)
			(layers "F.Cu" "F.Mask" "F.Paste")
			(net "unconnected-(U3-IO_A3-Pad4)")
			(pinfunction "IO_A3")
			(pintype "bidirectional+no_connect")
			(uuid "5ac4")
		)
		(pad "EP" smd rect
			(at 0 0 90)
			(size 2 2)
			(layers "F.Cu" "F.Mask")
			(net "GND")
			(pinfunction "VSS")
			(pintype "power_in")
			(uuid "5ac5")
		)
		(pad "EP" thru_hole circle
			(at 0 0 90)
			(size 0.6 0.6)
			(drill 0.3)
			(layers "*.Cu")
			(remove_unused_layers no)
			(net "GND")
			(pinfunction "VSS")
			(pintype "power_in")
			(uuid "5ac6")
		)
		(pad "" np_thru_hole circle
			(at 4.5 0)
			(size 1 1)
			(drill 1)
			(layers "*.Cu" "*.Mask")
			(uuid "5ac7")
		)
		(embedded_fonts no)
	)
	(footprint "buoy:PLUG2"
		(locked yes)
		(layer "B.Cu")
		(uuid "5a04")
		(at 30 20)
		(property "Reference" "J7"
			(at 0 0 0)
			(layer "F.SilkS")
		)
		(property "Value" "SONDE"
			(at 0 1 0)
			(layer "F.SilkS")
		)
		(pad "1" thru_hole oval
			(at 0 0)
			(size 2 1)
			(drill 0.5
				(offset 0.25 0)
			)
			(layers "*.Cu" "*.Mask")
			(remove_unused_layers no)
			(net "/SONDE_TX")
			(pintype "passive")
			(uuid "5ad1")
		)
		(pad "2" thru_hole circle
			(at 0 2.54)
			(size 1.2 1.2)
			(drill 0.5)
			(layers "*.Cu" "*.Mask")
			(remove_unused_layers no)
			(net "GND")
			(pintype "passive")
			(uuid "5ad2")
		)
		(embedded_fonts no)
	)
	(footprint "buoy:R"
		(layer "F.Cu")
		(uuid "5a06")
		(at 10 20 30)
		(property "Reference" "R5"
			(at 0 0 30)
			(layer "F.SilkS")
		)
		(property "Value" "1k"
			(at 0 1 30)
			(layer "F.SilkS")
		)
		(pad "1" smd rect
			(at -1 0 30)
			(size 0.8 0.9)
			(layers "F.Cu" "F.Mask" "F.Paste")
			(net "/LED_A")
			(pintype "passive")
			(uuid "5ae1")
		)
		(pad "2" smd rect
			(at 1 0 30)
			(size 0.8 0.9)
			(layers "F.Cu" "F.Mask" "F.Paste")
			(net "unconnected-(R5-Pad2)")
			(pintype "passive+no_connect")
			(uuid "5ae2")
		)
		(embedded_fonts no)
	)
	(gr_line
		(start 0 0)
		(end 40 0)
		(stroke
			(width 0.1)
			(type default)
		)
		(layer "Edge.Cuts")
		(uuid "5af1")
	)
	(gr_line
		(start 0 0)
		(end 0 25)
		(stroke
			(width 0.1)
			(type default)
		)
		(layer "Edge.Cuts")
		(uuid "5af2")
	)
	(gr_arc
		(start 40 0)
		(mid 43.535534 1.464466)
		(end 45 5)
		(stroke
			(width 0.1)
			(type default)
		)
		(layer "Edge.Cuts")
		(uuid "5af3")
	)
	(segment
		(start 21 13)
		(end 30 13)
		(width 0.25)
		(layer "F.Cu")
		(net "/SONDE_TX")
		(uuid "5aa0")
	)
	(segment
		(start 30 13)
		(end 30 20)
		(width 0.25)
		(layer "F.Cu")
		(net "/SONDE_TX")
		(uuid "5aa1")
	)
	(segment
		(start 5 5)
		(end 6 5)
		(width 0.25)
		(locked yes)
		(layer "B.Cu")
		(uuid "5aa2")
	)
	(via
		(at 30 13)
		(size 0.6)
		(drill 0.3)
		(layers "F.Cu" "B.Cu")
		(net "/SONDE_TX")
		(uuid "5aa3")
	)
	(via micro
		(at 12 5)
		(size 0.4)
		(layers "F.Cu" "B.Cu")
		(net "GND")
		(uuid "5aa4")
	)
	(zone
		(net "GND")
		(layer "B.Cu")
		(uuid "5ab1")
		(hatch edge 0.508)
		(connect_pads
			(clearance 0.2)
		)
		(min_thickness 0.25)
		(fill yes
			(thermal_gap 0.2)
			(thermal_bridge_width 0.25)
		)
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
	(zone
		(layer "F.Cu")
		(uuid "5ab2")
		(hatch edge 0.508)
		(connect_pads
			(clearance 0.2)
		)
		(min_thickness 0.25)
		(keepout
			(tracks not_allowed)
			(vias not_allowed)
			(pads allowed)
			(copperpour not_allowed)
			(footprints allowed)
		)
		(fill
			(thermal_gap 0.2)
			(thermal_bridge_width 0.25)
		)
		(polygon
			(pts
				(xy 2 20) (xy 4 20) (xy 4 22)
			)
		)
	)
)
"""

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
