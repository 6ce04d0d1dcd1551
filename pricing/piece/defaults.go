package piece

import "reckoner/pricing/unit"

// caseSizes are the settings of a case, each with its default (common practice,
// no source).
type caseSizes struct {
	top, side, rail, guide, stop, plinthStock unit.Length // thicknesses

	sideOverhang, frontOverhang, rearOverhang unit.Length
	railWidth, backRail, runnerWidth, plinth  unit.Length
	tenon, stubTongue, movementGap, housing   unit.Length
	centreMargin, rebate                      unit.Length
	block, stopBlock                          unit.Face // glue block and drawer stop: length and width
}

// drawerSizes are the settings of a drawer box, each with its default (common
// practice, no source).
type drawerSizes struct {
	box, front, bottomStock            unit.Length // thicknesses
	lap, flush, groove, grooveOffset   unit.Length
	sideClearance, heightGap, frontGap unit.Length
	behind, bottomGap                  unit.Length
	tailPitch, looseTail               unit.Length
}

const mm = unit.Millimetre

// inch returns n/d of an inch.
func inch(n, d unit.Length) unit.Length { return n * unit.Inch / d }

// standardCase returns the defaults of a case written in s.
func standardCase(s unit.System) caseSizes {
	if s != unit.InInches {
		return caseSizes{
			top: 25 * mm, side: 22 * mm, rail: 20 * mm, guide: 20 * mm, stop: 5 * mm, plinthStock: 20 * mm,
			sideOverhang: 15 * mm, frontOverhang: 15 * mm,
			railWidth: 60 * mm, backRail: 50 * mm, runnerWidth: 45 * mm, plinth: 80 * mm,
			tenon: 15 * mm, stubTongue: 8 * mm, movementGap: 4 * mm, housing: 6 * mm,
			centreMargin: 20 * mm, rebate: 8 * mm,
			block: unit.Face{L: 60 * mm, W: 25 * mm}, stopBlock: unit.Face{L: 45 * mm, W: 25 * mm},
		}
	}
	board := inch(13, 16)
	return caseSizes{
		top: inch(1, 1), side: board, rail: board, guide: board, stop: inch(3, 16), plinthStock: board,
		sideOverhang: inch(5, 8), frontOverhang: inch(5, 8),
		railWidth: inch(19, 8), backRail: inch(2, 1), runnerWidth: inch(7, 4), plinth: inch(25, 8),
		tenon: inch(9, 16), stubTongue: inch(5, 16), movementGap: inch(3, 16), housing: inch(3, 16),
		centreMargin: inch(3, 4), rebate: inch(5, 16),
		block: unit.Face{L: inch(19, 8), W: inch(1, 1)}, stopBlock: unit.Face{L: inch(7, 4), W: inch(1, 1)},
	}
}

// standardDrawer returns the defaults of a drawer box written in s.
func standardDrawer(s unit.System, lapped bool) drawerSizes {
	if s != unit.InInches {
		d := drawerSizes{
			box: 12 * mm, front: 20 * mm, bottomStock: 8 * mm,
			lap: 6 * mm, flush: 1 * mm, groove: 5 * mm, grooveOffset: 10 * mm,
			sideClearance: 1 * mm, heightGap: 4 * mm, frontGap: 3 * mm / 2,
			behind: 10 * mm, bottomGap: 1 * mm,
			tailPitch: 35 * mm, looseTail: 25 * mm,
		}
		if lapped {
			d.sideClearance, d.heightGap = mm/2, 2*mm
		}
		return d
	}
	d := drawerSizes{
		box: inch(1, 2), front: inch(13, 16), bottomStock: inch(5, 16),
		lap: inch(1, 4), flush: inch(1, 32), groove: inch(3, 16), grooveOffset: inch(3, 8),
		sideClearance: inch(1, 32), heightGap: inch(5, 32), frontGap: inch(1, 16),
		behind: inch(3, 8), bottomGap: inch(1, 32),
		tailPitch: inch(11, 8), looseTail: inch(1, 1),
	}
	if lapped {
		d.heightGap = inch(1, 16)
	}
	return d
}
