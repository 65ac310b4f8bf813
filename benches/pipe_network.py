"""The reference libraries' network of pipes as one of ours, for the bench and the published check alike."""

from __future__ import annotations

import dataclasses
from typing import Any

import msgspec

from vanewise.aircraft.description import AircraftDescription, Gauge, Line, Part
from vanewise.aircraft.layouts import make
from vanewise.network.elements import Law
from vanewise.network.packed import PackedNetwork
from vanewise.provenance import JUDGEMENT, Value
from vanewise.values import standard_atmosphere_1976 as usa76

RPM = 1200.0


def given(number: float, dimension: str) -> Value:
    return Value(number=number, dimension=dimension, standing="judgement", source=JUDGEMENT)


def pipe_network(inputs: dict[str, Any], answer: dict[str, Any]) -> AircraftDescription:
    """The library's network as an aircraft: a manifold per node, and a pump that draws the wanted flow at each user.

    A pump draws volume, so its volume is set for the wanted mass flow at the library's pressure; at any other pressure
    of ours the flow would differ, and so would every pressure.
    """
    base = make("suction-one-pump")
    nodes: dict[int, list[str]] = {}
    lines = []
    for number, (start, end, length, bore) in enumerate(inputs["pipes"]):
        ports = []
        for node in (start, end):
            nodes.setdefault(node, []).append(f"to_{number}")
            ports.append(f"node_{node}.to_{number}")
        values = {
            "length": given(length, "length"),
            "bore": given(bore, "length"),
            "elbows": given(0.0, "ratio"),
            "roughness": given(inputs["roughness_m"], "length"),
        }
        lines.append(Line(id=f"pipe_{number}", start=ports[0], end=ports[1], values=values))
    parts = []
    density_factor = usa76.GAS_CONSTANT.number * inputs["temperature_k"]
    for node, flow in inputs["drawn_kg_s"].items():
        volume = flow * density_factor / answer["pressure_pa"][int(node)] * 60.0 / RPM
        values = {
            "displacement": given(volume, "volume"),
            "volumetric_efficiency": given(1.0, "ratio"),
            "drive_ratio": given(1.0, "ratio"),
            "slip_area": given(0.0, "area"),
        }
        parts.append(Part(id=f"pump_{node}", kind="pump", open={"outlet": "engine bay"}, values=values))
        nodes[int(node)].append("user")
        short = {
            "length": given(0.05, "length"),
            "bore": given(0.03, "length"),
            "elbows": given(0.0, "ratio"),
            "roughness": given(0.0, "length"),
        }
        lines.append(Line(id=f"to_pump_{node}", start=f"node_{node}.user", end=f"pump_{node}.inlet", values=short))
    for node, ports in nodes.items():
        opened = dict.fromkeys(ports, "cabin") if node == 0 else {}
        parts.append(Part(id=f"node_{node}", kind="manifold", extra_ports=tuple(ports), open=opened))
    return msgspec.structs.replace(
        base, parts=tuple(parts), lines=tuple(lines), gauge=Gauge(high="cabin", low="node_1.to_0"), lamp=None
    )


def without_acceleration(packed: PackedNetwork) -> PackedNetwork:
    """The same network whose lines have no acceleration term, which pandapipes leaves out."""
    geometry = packed.geometry.copy()
    for place in (3, 6):
        geometry[packed.law == Law.PIPE, place] = 0.0
    return dataclasses.replace(packed, geometry=geometry)
