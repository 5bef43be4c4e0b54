"""Roles of pins, held against tables made for this test and against the second opinion's list."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from renet.freedom.names import functions_in, role_by_name, role_by_type
from renet.read.board import read_board
from renet.verify.scope import guarded_name

# Common practice, no source: names as they stand in pin tables of controllers and logic parts.
KEPT = {
    "supply": "VDD VDDA VDD_3 VDD[2] VCC V_{CC} AVDD DVDD IOVDD VDDIO2 VBAT VCAP_1 3V3 +5V V33 "
    "VBUS VIN VOUT VREG_VOUT VCCIO0[2] SPI_VCCIO1 VPP_2V5 ADC_AVDD BAT+",
    "ground": "GND GND_15 AGND DGND VSS VSSA VSS_32 GND[27] CASE_GND EP PAD 0V",
    "reference": "VREF+ VREF- AREF VREF VREFP",
    "oscillator": "OSC_IN OSC_OUT PH0-OSC_IN PC14/OSC32_IN XIN XOUT XTAL1 XTAL_32K_P XI XO EXTAL",
    "reset": "NRST ~{RESET} nRESET RESETN RST RST_N MCLR ~{CRESET} RUN EN/CHIP_PU EN SYS_RST",
    "boot": "BOOT0 PB2/BOOT1 BOOTSEL BOOT/GPIO9 STRAP1 PROGRAMN DONE CFG_0",
    "debug": "SWDIO SWCLK SWO PA13/SWDIO JTMS/SWDIO TDI TDO TMS TCK TRST NJTRST JTAG_TCK UPDI DBG",
    "not-connected": "NC NC_3 N/C DNC RESV_1",
}
FREE = (
    "PA0 PB15 GPIO12 IO_A1 IO2 D7 A10 DQ3 CLK SCK MOSI SDA SCL TX RX UART1_TX PA9/USART1_TX "
    "PB3 (MOSI/OC2A/PCINT3) ADC1_IN3 GPIO26_ADC0 TIM2_CH1 VSYNC HSYNC CS ~{CS} ~{WE} OE DIR INT "
    "INT1 PL11A/+/LDQ17 IOB_3b_G6 PT36A/+/PCLKT0_1 QA Y1 1A SER SRCLK Pin_3 K A G S 7 CAN_TX "
    "SDIO_CK MCO SENSE PWM0 LED AUX FB RGB0 ENC_A GPIO3/ADC1_CH3 EXTI4 BUSY HOLD WP"
)


@pytest.mark.parametrize("role", KEPT)
def test_names_of_pins_that_are_not_traded_unasked(role: str) -> None:
    found = {name: role_by_name(name) for name in KEPT[role].split()}
    assert found == dict.fromkeys(found, role)


def test_names_of_signal_pins() -> None:
    found = {name: role_by_name(name) for name in FREE.replace(" (", "(").split()}
    assert found == dict.fromkeys(found, "")


def test_types() -> None:
    assert {kind: role_by_type(kind) for kind in ("power_in", "power_out", "no_connect")} == {
        "power_in": "supply",
        "power_out": "supply",
        "no_connect": "not-connected",
    }
    for kind in ("", "bidirectional", "input", "passive", "open_collector", "free"):
        assert role_by_type(kind) == ""


def test_functions_of_a_name() -> None:
    assert functions_in("") == ()
    assert functions_in("PB0") == ("PB0",)
    assert functions_in("PB3 (MOSI/OC2A)") == ("PB3 (MOSI/OC2A)", "PB3", "MOSI", "OC2A")


PIECES = st.sampled_from(
    " ".join(KEPT.values()).split() + FREE.split() + ["XT", "VEE", "BOOT", "NCS", "MCLR_N", "JTCK"]
)


@given(st.lists(PIECES, min_size=1, max_size=3), st.sampled_from(["/", " ", "(", "_", ""]))
def test_the_second_opinion_never_keeps_a_name_that_is_free_here(
    pieces: list[str], mark: str
) -> None:
    name = mark.join(pieces)
    if guarded_name(name):
        assert role_by_name(name)


def test_signal_pins_of_real_boards_are_mostly_free_by_name(shared_boards: list[Path]) -> None:
    """Types are the evidence here: what the files type as bidirectional is a signal pin.

    Exempt are the names that a controller's or a programmable device's debug, boot,
    oscillator and reference pins have beside their signal name.
    """
    signals = caught = supplies = missed = 0
    for path in shared_boards:
        board, _ = read_board(path.read_bytes())
        for pin in board.pins:
            role = role_by_name(pin.name)
            if pin.type == "bidirectional" and pin.name:
                signals += 1
                caught += bool(role)
                assert role not in ("supply", "ground"), (path.name, pin.name)
            if pin.type == "power_in" and pin.name:
                supplies += 1
                missed += role not in ("supply", "ground")
    assert signals > 500
    assert caught < 0.05 * signals
    assert missed < 0.1 * supplies
