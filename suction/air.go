package suction

import (
	"math"

	"lowtide/unit"
)

// Constants of the standard atmosphere. Source: ISO 2533:1975, Standard Atmosphere, clause 2 and table 1
// (the same numbers as the ICAO standard atmosphere, Doc 7488).
const (
	isaPressurePa   = 101325.0
	isaTemperatureK = 288.15
	isaLapseKM      = 0.0065
	isaGasJKgK      = 287.05287
	gravityMS2      = 9.80665
	isaTopM         = 11000.0
	isaBottomM      = -2000.0
)

// Properties of the fluids in the path.
const (
	// airTemperatureK is the temperature of the gas, the room's: 20 °C (own choice).
	airTemperatureK = 293.15
	// Exudate is taken as slightly denser and thicker than water: common practice, no published source.
	exudateDensityKgM3   = 1020.0
	exudateViscosityPaS  = 4e-3
	millilitresPerM3     = 1e6
	airDensityAt20CKgM3  = 1.204 // ISO 2533 by the gas law at 101325 Pa, 293.15 K
	laminarReynoldsLimit = 2000.0
)

// AmbientMmHg is the pressure of the standard atmosphere at an altitude in metres (geopotential):
//
//	p_a = p_0 (1 - β h / T_0)^(g / (β R))    (eq. 1 in docs/model/suction.md)
//
// Altitudes outside -2000..11000 m, where the formula does not hold, give NaN; [Parse] refuses them.
// Source: ISO 2533:1975, eq. 12. Checked: testdata/ref/iso-2533-atmosphere.
func AmbientMmHg(altitudeM float64) float64 {
	if !(altitudeM >= isaBottomM && altitudeM <= isaTopM) {
		return math.NaN()
	}
	ratio := 1 - isaLapseKM*altitudeM/isaTemperatureK
	return isaPressurePa * math.Pow(ratio, gravityMS2/(isaLapseKM*isaGasJKgK)) / unit.PaPerMmHg
}

// AirViscosityPaS is the dynamic viscosity of air at a temperature in kelvin (Sutherland's formula).
// Source: ISO 2533:1975, eq. 22: 1.458e-6 T^1.5 / (T + 110.4); 1.7894e-5 Pa·s at 288.15 K.
func AirViscosityPaS(temperatureK float64) float64 {
	return 1.458e-6 * math.Pow(temperatureK, 1.5) / (temperatureK + 110.4)
}

// HeadMmHg is the pressure of a standing column of exudate, ρ g h, for a height in metres (eq. 8).
// Source: hydrostatics; density 1.02 g/mL, common practice, no published source.
func HeadMmHg(heightM float64) float64 {
	return exudateDensityKgM3 * gravityMS2 * heightM / unit.PaPerMmHg
}

// tubeConductance is G of eq. 6: π d⁴ / (128 μ L), the volume flow per pressure difference of a laminar tube,
// in mL/s per mmHg. Lengths in metres and millimetres, viscosity in Pa·s.
func tubeConductance(boreMM, lengthM, viscosityPaS float64) float64 {
	d := boreMM / 1000
	return math.Pi * d * d * d * d / (128 * viscosityPaS * lengthM) * millilitresPerM3 * unit.PaPerMmHg
}

// TubeDropMmHg is the pressure lost by a small laminar flow of air in a tube (Hagen-Poiseuille,
// incompressible): 128 μ L Q / (π d⁴), with the flow in mL/min. It is the limit of eq. 6 for small drops.
func TubeDropMmHg(flowMLMin, boreMM, lengthM float64) float64 {
	return flowMLMin / 60 / tubeConductance(boreMM, lengthM, AirViscosityPaS(airTemperatureK))
}

// LiquidDropMmHg is the same for exudate moving through a tube, with the flow in mL a day (eq. 9).
func LiquidDropMmHg(flowMLDay, boreMM, lengthM float64) float64 {
	return flowMLDay / 86400 / tubeConductance(boreMM, lengthM, exudateViscosityPaS)
}
