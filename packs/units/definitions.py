"""The units the bench uses, as definitions for the registry: a short list is read in a tenth of the time of a full one.

Names, symbols and factors are those of the International System (SI Brochure, 9th edition, 2019) and, for inch, foot,
pound and ounce, of the yard and pound agreement of 1959, both from memory. What stands in no line here is no unit.
"""

DEFINITIONS = """
pico- = 1e-12 = p-
nano- = 1e-9 = n-
micro- = 1e-6 = \u00b5- = \u03bc- = u- = mu-
milli- = 1e-3 = m-
centi- = 1e-2 = c-
deci- = 1e-1 = d-
kilo- = 1e3 = k-
mega- = 1e6 = M-
giga- = 1e9 = G-

meter = [length] = m = metre
second = [time] = s = sec
ampere = [current] = A = amp
gram = [mass] = g
kelvin = [temperature]; offset: 0 = K = degK
radian = [] = rad
count = []
mole = [substance] = mol
candela = [luminosity] = cd

percent = 0.01 = %
ppm = 1e-6
degree = 3.141592653589793 / 180 * radian = deg

minute = 60 * second = min
hour = 60 * minute = h = hr
day = 24 * hour = d
week = 7 * day
year = 365.25 * day = a = yr

degree_Celsius = kelvin; offset: 273.15 = \u00b0C = celsius = degC = degreeC
degree_Fahrenheit = 5 / 9 * kelvin; offset: 233.15 + 200 / 9 = \u00b0F = fahrenheit = degF = degreeF

inch = 25.4e-3 * meter = in
foot = 12 * inch = ft = feet
yard = 3 * foot = yd
thou = 1e-3 * inch = th = mil_length
circular_mil = 3.141592653589793 / 4 * thou ** 2 = cmil
micron = 1e-6 * meter

pound = 0.45359237 * kilogram = lb
ounce = pound / 16 = oz

[area] = [length] ** 2
[volume] = [length] ** 3
liter = 1e-3 * meter ** 3 = l = L = litre
[frequency] = 1 / [time]
hertz = 1 / second = Hz
[force] = [mass] * [length] / [time] ** 2
newton = kilogram * meter / second ** 2 = N
force_pound = 9.80665 * meter / second ** 2 * pound = lbf = pound_force
[pressure] = [force] / [area]
pascal = newton / meter ** 2 = Pa
bar = 1e5 * pascal
[energy] = [force] * [length]
joule = newton * meter = J
watt_hour = watt * hour = Wh
[power] = [energy] / [time]
watt = joule / second = W
[charge] = [current] * [time]
coulomb = ampere * second = C
ampere_hour = ampere * hour = Ah
[electric_potential] = [energy] / [charge]
volt = joule / coulomb = V
[resistance] = [electric_potential] / [current]
ohm = volt / ampere = \u03a9
[conductance] = [current] / [electric_potential]
siemens = ampere / volt = S
[capacitance] = [charge] / [electric_potential]
farad = coulomb / volt = F
[magnetic_flux] = [electric_potential] * [time]
weber = volt * second = Wb
[inductance] = [magnetic_flux] / [current]
henry = weber / ampere = H

@system mks using root
    meter
    kilogram
    second
@end
"""
