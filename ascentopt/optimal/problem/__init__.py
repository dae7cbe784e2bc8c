"""What is solved: the optimal control problem of a flight, stated once; each line says where it is.

SI units and radians throughout. Names of files count from `ascentopt`; those without a folder are
in `optimal/problem`.

**Phases.** A flight is a sequence of arcs k = 0 .. K-1 between the instants t_0 = 0 (lift-off),
t_1, .., t_K (insertion), in each of which nothing is lit, shut down or dropped. Which arcs there
are follows from a plan (`flight/plan.py`, `flight/phases/builder.py`) and is no unknown here:
structures are compared in `optimal/structure/`. `transcription.py` writes the problem.

**Unknowns** (`phase_model.py`, `linkage.py`, `target/ellipse.py`)

    r, v       (3,) m, m/s  inertial position and velocity, centre of the body, z along its spin
    m          kg           mass
    u          (3,)         direction of thrust: a control, with |u|^2 = 1 along the arc
      or       (3,)         a state, where its rate is limited; the rate w (3,), 1/s, is the control
    s          -            throttle: a control where the arc has one, least throttle <= s <= 1
    t_1..t_K   s            instants
    dv, dr     (3,) m/s, m  virtual impulse and shift at the insertion
    e          -            excess: logarithm of the factor on all limits on loads, 0 or more
    ra, rb, nu m, m, rad    apsides and true anomaly of the target, unless it is a circle

On a vertical rise u is the local vertical, and on a coast there is none. From the first long coast
of the guess on, r and v are told by modified equinoctial elements p, f, g, h, k, L, which a coast
leaves as they are (`flight/dynamics/elements.py`: Walker, Ireland, Owens 1985); conditions and
limits see r and v all the same, but for the joints between such arcs.

**Dynamics** (`flight/dynamics/`: `forces.py`, `state.py`, `elements.py`)

    r' = v        v' = g(r) + (T u + A) / m        m' = -F        u' = w, where u is a state
    g  = -mu r / |r|^3 and the term of J2                             `world/gravity.py`
    T  = s T_core + T_side - p_air (E_core + E_side)                  thrust less back-pressure, N
    F  = s F_core + F_side                                            mass flow, kg/s
    A  = -1/2 rho |c| S (c_D(Mach) c + c_N (c - (c . u) u))           drag and normal force, N
    c  = v - spin x r - wind                                          `world/air.py`

without thrust and normal force on a coast; E are exit areas, S is the reference area. Solid motors
have T and F by the clock since they were lit, or by what they have burned. What stands for a number
here is a parameter of the arc, named in `ArcParameters` (`flight/phases/arc_kind.py`); density,
pressure and speed of sound are those of the altitude above the ellipsoid. In elements all but the
pull of a sphere is the disturbance.

**Cost** (`ElasticObjective` in `linkage.py`, weights in `transcription.py`). One program serves all
modes, the weights W being parameters of it:

    W_m m(t_c)  +  W_v 1/2 (|dv|^2 + (pace |dr|)^2)  +  W_e e

t_c is the last cut-off that is free, and the pace (1/s) says what a metre of height is worth.

- Greatest mass: maximise with W_m = 1, W_v = 0, dv = dr = 0.
- Least missing speed: minimise with W_m = 0, W_v = 1, dv and dr free: zero where the orbit can be
  reached, a shortfall in m/s where not (`missing_speed`).
- e is held at zero, or free from zero up at the price W_e, ten times the cost's size: dear enough
  that it stays zero wherever there is a flight within the limits (`elastic_limits.py`).

**Linkage** (`joints.py`, `linkage.py`): nothing is continuous unless a condition says so.

    r, v at t_0 = the site's, turning with the body
    m    at t_0 = the lift-off mass; where ballast is to be found, that or more
    r, v after a joint = before it; between two arcs told in elements, the elements
    m    after a joint = before it less what is dropped, or what stands above the stage that leaves;
                         where ballast is to be found, m at t_0 less all that was left behind
    u    after a joint = before it, upright after the rise, or of length one, where it is a state

**Path limits** (`path_limits.py`, one class each; values and bounds). Those on loads, marked (e),
have their limit multiplied by exp(e), and are imposed on the arcs in `limited_arcs`: those where a
solution without them comes near to one (`violations.py`).

    |u|^2 = 1                                         direction
    ln(1 + q / 1 kPa)                                 dynamic pressure q = 1/2 rho |c|^2     (e)
    alpha^2, faded out below q of 200 Pa              angle of attack between u and c        (e)
    ln hypot(q alpha, 50 kPa deg)                     q alpha                                (e)
    (T + A . u) / m                                   axial acceleration
    |w|^2                                             pitch rate: the mission's, or 3 deg/s at most
    ln(1 + q |c| / 1 W/m^2)                           heating of the payload without its fairing
    altitude                                          clearance, where a flight would hug the ground
    p / |r|                                           in elements, above zero: there |r| is infinite

**At the ends of arcs** (`_end_limits` in `joints.py`): the height that a vertical rise
gains; dynamic pressure at a staging; heating q |c|, and a least altitude, where the fairing goes.

**Terminal conditions** (`target/terminal.py`, `target/ellipse.py`, `target/plane.py`) on r + dr
and v + dv at t_K, to which the lead of a closed loop, 6 parameters, is added
(`optimal/result/closed_loop.py`):

    circle        |r|, |v| and r . v / |r| are those of the orbit
    ellipse       |r|, climb and horizontal speed = those at nu on the ellipse of ra and rb;
                  an element that is given fixes an apsis, their mean, or (rb - ra) / (rb + ra)
    periapsis     angle of r from the node = nu + argument of periapsis
    plane         known: n . r = n . v = 0; by inclination alone: that angle; by node alone: the
                  momentum has nothing along the line of nodes

**Durations and spans** (`flight/phases/sequence.py`, `Span` in `collocation/problem.py`): t_(k+1) -
t_k lies between the arc's shortest and longest duration, equal where a clock fixes it, and the sum
over arcs that share a burn, such as one that the fairing's drop cuts in two, likewise. Where its
length does not say what a burn leaves (throttle, burns from one tank) m stays above the arc's least
mass; elsewhere half of that keeps iterates positive.

Necessary conditions that are looked at beside the solver's own (Pontryagin): thrust along minus the
costate of v where no limit acts, a constant Hamiltonian, zero at a free end
(`optimal/result/certificate.py`); the switching function of a burn is in `switching_function.py`.
How the problem becomes a nonlinear program is told in `ascentopt/collocation/__init__.py`.
"""
