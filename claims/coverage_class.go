package claims

// Component classes group components the way terms of warranty do: longer for the sealed system, shorter for what wears.
const (
	ClassWhole       = "whole-unit"
	ClassSealed      = "sealed-system"
	ClassDrive       = "drive"
	ClassElectronics = "electronics"
	ClassHeating     = "heating"
	ClassWater       = "water"
	ClassGas         = "gas"
	ClassStructure   = "structure"
	ClassCosmetic    = "cosmetic"
	ClassConsumable  = "consumable"
)

// ComponentClasses are all classes, the whole unit first.
func ComponentClasses() []string {
	return []string{ClassWhole, ClassSealed, ClassDrive, ClassElectronics, ClassHeating, ClassWater, ClassGas, ClassStructure, ClassCosmetic, ClassConsumable}
}

// ClassOf is the class of a component (common practice, no source: papers differ, and a term may name the component itself,
// which then comes before its class). A component without a class is of the whole unit.
func ClassOf(component string) string {
	switch component {
	case "compressor", "sealed-system", "evaporator-coil", "condenser-coil", "filter-drier":
		return ClassSealed
	case "drive-motor", "belt", "circulation-pump", "drain-pump", "turntable-motor", "evaporator-fan", "condenser-fan", "damper", "ice-maker":
		return ClassDrive
	case "control-board", "display", "main-harness", "start-device", "run-capacitor", "door-switch", "compartment-sensor", "defrost-sensor", "defrost-thermostat",
		"oven-sensor", "wash-sensor", "pressure-switch", "door-lock", "terminal-block", "power-cord", "magnetron", "flame-sensor":
		return ClassElectronics
	case "defrost-heater", "defrost-fuse", "drain-heater", "bake-element", "broil-element", "surface-element", "dryer-element", "dryer-thermostat", "dryer-fuse", "wash-heater":
		return ClassHeating
	case "water-valve", "water-line", "drain-trough":
		return ClassWater
	case "igniter", "gas-valve", "gas-line":
		return ClassGas
	case "liner", "door", "hinge", "gasket", "dryer-vent":
		return ClassStructure
	case "water-filter":
		return ClassConsumable
	}
	return ClassWhole
}

// liner is structure by build, yet papers that have a cosmetic term mean it there: classesOf lists what to look for, nearest first.
func classesOf(component string) []string {
	class := ClassOf(component)
	list := []string{component, class}
	switch component {
	case "liner", "door":
		list = append(list, ClassCosmetic)
	}
	if class != ClassWhole {
		list = append(list, ClassWhole)
	}
	return list
}
