"""A small IPC-D-356A list written by hand: all kinds of records, and the carelessness of writers.

U3   front: 1 GND, 2 /SONDE_TX, 3 the long net, 4 open
J7   through holes: 1 /SONDE_TX, 2 GND; 3 open under an automatic name that was cut short
R5   back of a four-layer board: 1 the long net (lower half on a second pad), 2 open
"""

LIST = b"\r\n".join(
    [
        b"C  tide gauge, written by hand",
        b"P  JOB   BUOY",
        b"P  UNITS CUST 1",
        b"P  NNAME1  /SONDE/CALIBRATION_LEAK",
        b"317GND              VIA   -    MD0300PA00X+010000Y+010000X0600Y0000R000 S0",
        b"327GND              U3    -1          A01X+020000Y-010000X1500Y0300R090 S1",
        b"327/SONDE_TX        U3    -2          A01X+020500Y-010000X1500Y0300R090",
        b"327NNAME1           U3     3          A01X+021000Y-010000X1500Y0300",
        b"327N/C              U3    -4          A01X+021500Y-010000",
        b"317/SONDE_TX        J7    -1   MD1000PA00X+030000Y-010000X1700Y1700R000 S",
        b"317GND              J7    -2    D1000PA00X 030000Y-012540X1700Y0000R000 S0xx",
        b"317unconnected-(JJ7    -3    D1000PA00X+030000Y-015080X1700Y0000R000 S0",
        b"327NNAME1           R5    -1          A04X+025000Y-020000X0800Y0900R000 S2",
        b"027                                   A04X+025000Y-021000X0800Y0900R000 S2",
        b"017 a continuation that gives no place",
        b"327                 R5    -2          A04X+027000Y-020000X0800Y0900R000 S2",
        b"367N/C              H1          D3200UA00X+001000Y-001000X3200Y0000R000 S0",
        b"378GND              L01  X0300 X+010000Y+010000 X+020000",
        b"999",
        b"",
    ]
)
LIST = LIST.replace(b"unconnected-(JJ7 ", b"unconnected-(J   J7 ")
