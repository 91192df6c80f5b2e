"""The running text of the validation's pages."""

ABOUT = """\
Numbers that standards, handbooks and closed forms give for sections like those that bridge2d computes, with ours
beside them, and a few of our own by another method, which are marked and validate nothing. Each case is an ordinary
detail file that goes the way of every user's file; “bridge2d verify” computes them all again on any machine.
"""
GUARANTEED = """\
Guaranteed: L2D, L3D, coupling coefficients, heat flows, Ψ and χ lie within the bracket printed with them. A
temperature field gives an upper bound of the heat flow and a stream function a lower one (Prager and Synge 1947;
Synge 1957); both hold on any mesh, and the bracket is widened by what rounding may have done.

The bracket is that of the section on whole micrometres: corners of oblique edges move by half a micrometre.
Circles and ellipses are polygons; their bands say what that is worth.

Where conductivities of cavities depend on temperature, the bracket holds for the converged, frozen values.

Not guaranteed: temperatures, and with them the temperature factor. They are estimates with the tolerance that two
meshes give, of which one has at least twice as many unknowns.

An exact value has to lie in the bracket, or beside it by no more than its own doubt (“bracket ±”); ours, the
bracket's middle, may differ by more. Of any other value the whole bracket has to lie in the band, which is half a
unit of the last digit printed or as the case says. “Recomputed” is a comparison of two methods of our own and
validates nothing.
"""
CLOSING = """\
Width of the bracket around L2D (L3D of a solid of revolution) over its middle, pass by pass of the refinement. The
local gap between both bounds steers it, so that singular corners cost no order of convergence.
"""
ENCLOSED = """\
This PDF carries what it was made from: the cases with what is expected of them, their detail files, the rows of the
catalogue that they draw on, and all numbers. “bridge2d recheck FILE.pdf” takes them out and computes every case again
on other meshes. SHA-256 of the list of the enclosed files: {digest}.
"""
CAMPAIGN = """\
Random sections and junctions, and detail files, drawings and reports damaged at random. Of each section the
bracket is ordered, heat is balanced, no corner of the mesh lies beyond its environments by more than 2 % of their
span (on a crude mesh it may, and must not with a bracket of 0.01 %), and the bracket of one relative overlaps with
its own: mirror image, quarter turn, scaled conductivities, or the other mesher. A damaged file is read or refused in
one message. What failed is mended and has become a test; earlier campaigns are not counted here, since what they
found was mended before this one.
"""
LIMITS = """\
Steady heat conduction in a plane section or in a solid of revolution. What runs in three directions is reduced to
sections, and no bracket tells what that is worth.

Surfaces have one surface resistance and one temperature of the environment for each piece; radiation between
surfaces of a room and air that moves within a construction are not computed, but for frame cavities and air layers
by their standards' formulas.

Materials, dimensions and surface resistances are taken as given. The bracket says how well the equations are
solved, not how well the building is known.

Where two prescribed temperatures touch in a point the flow is infinite; temperatures are given and flows are not
(ISO 10211, reference case 1).

Reference cases 3 and 4 of ISO 10211 are three-dimensional and cannot be computed.
"""
