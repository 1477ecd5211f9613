"""Machine files of invented machines, one per kind of mechanism."""

LEVER = """
name = "lever row (invented)"
mechanism = "lever"
start_angle = "-25(0.3) deg"
[lever]
handle_radius = "655(2) mm"
hinge_inclination = "8(0.5) deg"
[[lever.mass]]
name = "arm"
mass = "9.50(0.10) kg"
radius = "380(3) mm"
angle = "-21.0(0.8) deg"
gyration_radius = "150(10) mm"
[[lever.mass]]
name = "plates"
mass = "load"
radius = "270(3) mm"
angle = "13.0(0.8) deg"
[[lever.mass]]
name = "counterweight"
mass = "4.00(0.05) kg"
radius = "300(3) mm"
angle = "160(1) deg"
"""

FOUR_BAR = """
name = "linkage press (invented)"
mechanism = "four-bar"
start_angle = "20(0.3) deg"
[four-bar]
ground_length = "600(2) mm"
ground_angle = "-10(0.5) deg"
input_length = "250(2) mm"
input_angle = "70(0.5) deg"
coupler_length = "520(2) mm"
rocker_length = "400(2) mm"
handle_radius = "700(3) mm"
[[four-bar.mass]]
name = "plates"
mass = "load"
radius = "500(3) mm"
angle = "40(0.8) deg"
[[four-bar.mass]]
name = "coupler bar"
mass = "3.0(0.1) kg"
radius = "260(5) mm"
angle = "25(1) deg"
gyration_radius = "150(10) mm"
on = "coupler"
[[four-bar.mass]]
name = "handle bar"
mass = "2.0(0.1) kg"
radius = "350(5) mm"
angle = "20(1) deg"
on = "input"
"""

CABLE = """
name = "cam machine (invented)"
mechanism = "cable"
start_angle = "-60(0.5) deg"
[cable]
cam = [["-5 deg", "80(1) mm"], ["20 deg", "95(1) mm"], ["60 deg", "110(1) mm"], ["100 deg", "85(1) mm"]]
handle_radius = "350(2) mm"
pulley_ratio = 2
efficiency = "0.95(0.01)"
[[cable.mass]]
name = "stack"
mass = "load"
[[cable.mass]]
name = "lever"
mass = "3.0(0.1) kg"
radius = "180(3) mm"
angle = "-60(1) deg"
on = "drum"
"""

STRAIGHT_PULL = """
name = "low pulley row (invented)"
mechanism = "straight-pull"
[straight-pull]
pulley_radius = "50(0.5) mm"
advantage = "2:1"
pulleys = 2
pulley_efficiency = "0.97(0.01)"
rope_direction = "10(2) deg"
[[straight-pull.mass]]
name = "stack"
mass = "load"
[[straight-pull.mass]]
name = "carriage"
mass = "1.50(0.05) kg"
[[straight-pull.mass]]
name = "bar"
mass = "1.2(0.05) kg"
on = "handle"
"""

SLED = """
name = "leg press (invented)"
mechanism = "sled"
start_angle = "0 deg"
[sled]
incline = "45(0.5) deg"
wheel_radius = "50(0.5) mm"
rail_friction = "0.01(0.005)"
[[sled.mass]]
name = "sled"
mass = "35(0.5) kg"
[[sled.mass]]
name = "plates"
mass = "load"
"""

ADD_ONS = """
[[spring]]
name = "return spring"
radius = "200(2) mm"
angle = "-40(1) deg"
anchor_x = "150(2) mm"
anchor_y = "-420(2) mm"
stiffness = "800(20) N/m"
free_length = "180(2) mm"
[[band]]
name = "band"
radius = "400(2) mm"
angle = "-20(1) deg"
anchor_x = "300(2) mm"
anchor_y = "-700(2) mm"
table = [["400 mm", "0 N"], ["600 mm", "60(3) N"], ["900 mm", "130(6) N"], ["1500 mm", "220(9) N"]]
[[chain]]
name = "chain"
radius = "600(2) mm"
angle = "-22(1) deg"
density = "4.0(0.1) kg/m"
length = "900(5) mm"
floor = "-800(5) mm"
"""
