//! Which contact forces hold the pieces still.

use clarabel::{
    algebra::CscMatrix,
    solver::{
        DefaultSettings, DefaultSolver, IPSolver, NonnegativeConeT, SecondOrderConeT, SolverStatus,
        SupportedConeT, ZeroConeT,
    },
};
use glam::{DMat3, DVec3};

use super::contacts::Contact;
use super::scene::Support;

/// What acts on a body beside its contacts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Load {
    /// Centre of mass, m.
    pub centre_m: DVec3,
    /// Weight, N: also the scale of the body's balance.
    pub weight_n: f64,
    /// Buoyancy, N.
    pub lift_n: f64,
    /// From the centre of mass to where the buoyancy acts, m.
    pub lift_arm_m: DVec3,
    /// Radius, m: the scale of the body's moments.
    pub radius_m: f64,
}

impl Load {
    /// Force over weight and moment over weight times radius, when gravity
    /// points along `down`. Linear in `down`, so that a turn of gravity adds up.
    fn shares(&self, down: DVec3) -> impl Iterator<Item = f64> {
        let lift = self.lift_n / self.weight_n;
        let force = down * (1.0 - lift);
        let moment = self.lift_arm_m.cross(-down * lift) / self.radius_m;
        force.to_array().into_iter().chain(moment.to_array())
    }
}

/// Bodies that touch each other, and what holds them.
#[derive(Debug, Clone)]
pub(crate) struct Island {
    /// Places in the scene's list, rising.
    pub bodies: Vec<usize>,
    /// Loads in the order of `bodies`.
    pub loads: Vec<Load>,
    /// Contacts, those between two bodies of the island once.
    pub contacts: Vec<Contact>,
}

/// Forces at an island's contacts.
#[derive(Debug, Clone)]
pub(crate) struct Forces {
    /// On the held body at each contact, tank frame, N.
    pub at_contacts_n: Vec<DVec3>,
    /// The greatest imbalance of any body: force as a share of its weight, or
    /// moment as a share of weight times radius.
    pub imbalance: f64,
}

/// Groups bodies that touch each other.
pub(crate) fn islands(loads: &[Load], contacts: &[Contact]) -> Vec<Island> {
    let mut group: Vec<usize> = (0..loads.len()).collect();
    for contact in contacts {
        if let Support::Piece(other) = contact.by {
            let (a, b) = (group[contact.body], group[other]);
            let (low, high) = (a.min(b), a.max(b));
            for g in &mut group {
                if *g == high {
                    *g = low;
                }
            }
        }
    }
    (0..loads.len())
        .filter(|i| group[*i] == *i)
        .map(|root| {
            let bodies: Vec<usize> = (0..loads.len()).filter(|i| group[*i] == root).collect();
            Island {
                loads: bodies.iter().map(|i| loads[*i]).collect(),
                contacts: contacts
                    .iter()
                    .filter(|c| group[c.body] == root)
                    .copied()
                    .collect(),
                bodies,
            }
        })
        .collect()
}

/// The matrix that turns contact forces into each body's balance.
///
/// Rows: for each body three forces over its weight, then three moments over
/// weight times radius. Columns: for each contact its force over `scale_n`
/// along the normal and two tangents.
pub(crate) struct Balance {
    /// Rows of the balance.
    pub rows: usize,
    /// Entries (row, column, value).
    pub entries: Vec<(usize, usize, f64)>,
    /// Normal and tangents of each contact.
    pub axes: Vec<DMat3>,
    /// The force that a unit of the unknowns stands for, N.
    pub scale_n: f64,
}

impl Balance {
    /// Sets the balance of an island up.
    pub fn of(island: &Island) -> Self {
        let scale_n: f64 = island.loads.iter().map(|l| l.weight_n).sum();
        let place = |body: usize| island.bodies.iter().position(|b| *b == body);
        let mut entries = Vec::new();
        let mut axes = Vec::new();
        for (c, contact) in island.contacts.iter().enumerate() {
            let (t1, t2) = contact.normal.any_orthonormal_pair();
            let frame = DMat3::from_cols(contact.normal, t1, t2);
            axes.push(frame);
            let mut add = |body: usize, sign: f64| {
                let load = &island.loads[body];
                let arm = contact.point_m - load.centre_m;
                for (k, axis) in [contact.normal, t1, t2].into_iter().enumerate() {
                    let force = axis * (sign * scale_n / load.weight_n);
                    let moment = arm.cross(force) / load.radius_m;
                    for (row, value) in force.to_array().into_iter().enumerate() {
                        entries.push((6 * body + row, 3 * c + k, value));
                    }
                    for (row, value) in moment.to_array().into_iter().enumerate() {
                        entries.push((6 * body + 3 + row, 3 * c + k, value));
                    }
                }
            };
            if let Some(body) = place(contact.body) {
                add(body, 1.0);
            }
            if let Support::Piece(other) = contact.by
                && let Some(body) = place(other)
            {
                add(body, -1.0);
            }
        }
        Self {
            rows: 6 * island.loads.len(),
            entries,
            axes,
            scale_n,
        }
    }

    /// The loads as rows of the balance, with gravity along `down`.
    pub fn loads(&self, island: &Island, down: DVec3) -> Vec<f64> {
        island.loads.iter().flat_map(|l| l.shares(down)).collect()
    }
}

/// How much the size of the forces counts beside the imbalance: just enough to
/// make them unique.
const SIZE_WEIGHT: f64 = 1e-7;

/// The least forces that hold an island, with all frictions times `share`.
///
/// # Equation
/// Least ½ Σ r² + ½ ε Σ f² over the contact forces f and the imbalances r, with
/// Σ f + load = r for each body (forces and moments) and |f_t| ≤ μ f_n at each
/// contact: a second-order cone program. Where the forces are determinate it
/// gives them; where they are not, the least in squares.
pub(crate) fn hold(island: &Island, down: DVec3, share: f64) -> Option<Forces> {
    let balance = Balance::of(island);
    let (n_contacts, rows) = (island.contacts.len(), balance.rows);
    let columns = 3 * n_contacts + rows;
    let mut program = Program::new(columns);
    for (row, load) in balance.loads(island, down).into_iter().enumerate() {
        program.rhs.push(-load);
        program.entries.push((row, 3 * n_contacts + row, -1.0));
    }
    program.entries.extend(&balance.entries);
    program.cones.push(ZeroConeT(rows));
    for (c, contact) in island.contacts.iter().enumerate() {
        program.friction_cone(3 * c, contact.friction * share);
    }
    for column in 0..columns {
        let weight = if column < 3 * n_contacts {
            SIZE_WEIGHT
        } else {
            1.0
        };
        program.square(column, weight);
    }
    let solution = program.solve()?;
    let at_contacts_n = balance
        .axes
        .iter()
        .enumerate()
        .map(|(c, axes)| {
            let f = &solution.x[3 * c..3 * c + 3];
            *axes * DVec3::new(f[0], f[1], f[2]) * balance.scale_n
        })
        .collect();
    let imbalance = solution.x[3 * n_contacts..]
        .chunks(3)
        .map(|r| (r[0] * r[0] + r[1] * r[1] + r[2] * r[2]).sqrt())
        .fold(0.0, f64::max);
    Some(Forces {
        at_contacts_n,
        imbalance,
    })
}

/// A cone program: least ½xᵀPx + qᵀx with rhs − Ax in the cones.
pub(crate) struct Program {
    /// Entries of A.
    pub entries: Vec<(usize, usize, f64)>,
    /// Right-hand side.
    pub rhs: Vec<f64>,
    /// Cones of the rows, in order.
    pub cones: Vec<SupportedConeT<f64>>,
    /// Linear cost.
    pub cost: Vec<f64>,
    squares: Vec<f64>,
}

/// What a program gave.
pub(crate) struct Solution {
    /// The unknowns.
    pub x: Vec<f64>,
    /// The multipliers of the rows.
    pub z: Vec<f64>,
}

impl Program {
    /// A program of so many unknowns, without rows or cost.
    pub fn new(columns: usize) -> Self {
        Self {
            entries: Vec::new(),
            rhs: Vec::new(),
            cones: Vec::new(),
            cost: vec![0.0; columns],
            squares: vec![0.0; columns],
        }
    }

    /// Adds ½ w x² to the cost.
    pub fn square(&mut self, column: usize, weight: f64) {
        self.squares[column] += weight;
    }

    /// |(x₁, x₂)| ≤ μ x₀ for the three unknowns from `column`.
    pub fn friction_cone(&mut self, column: usize, friction: f64) {
        let row = self.rhs.len();
        if friction > 1e-9 {
            // Divided by the larger of μ and 1, so that no row is badly scaled.
            let (along, across) = if friction > 1.0 {
                (1.0, 1.0 / friction)
            } else {
                (friction, 1.0)
            };
            self.entries.extend([
                (row, column, -along),
                (row + 1, column + 1, -across),
                (row + 2, column + 2, -across),
            ]);
            self.cones.push(SecondOrderConeT(3));
        } else {
            self.entries.extend([
                (row, column + 1, 1.0),
                (row + 1, column + 2, 1.0),
                (row + 2, column, -1.0),
            ]);
            self.cones.push(ZeroConeT(2));
            self.cones.push(NonnegativeConeT(1));
        }
        self.rhs.extend([0.0; 3]);
    }

    /// `x[column]` ≥ 0.
    pub fn not_negative(&mut self, column: usize) {
        self.entries.push((self.rhs.len(), column, -1.0));
        self.rhs.push(0.0);
        self.cones.push(NonnegativeConeT(1));
    }

    /// Solves; `None` when there is no solution or none was found.
    pub fn solve(self) -> Option<Solution> {
        let columns = self.cost.len();
        let quadratic = matrix(
            columns,
            columns,
            self.squares
                .iter()
                .enumerate()
                .filter(|(_, w)| **w != 0.0)
                .map(|(i, w)| (i, i, *w))
                .collect(),
        );
        let rows = matrix(self.rhs.len(), columns, self.entries);
        let settings = DefaultSettings {
            verbose: false,
            tol_gap_abs: 1e-10,
            tol_gap_rel: 1e-10,
            tol_feas: 1e-10,
            max_threads: 1,
            ..DefaultSettings::default()
        };
        let mut solver = DefaultSolver::new(
            &quadratic,
            &self.cost,
            &rows,
            &self.rhs,
            &self.cones,
            settings,
        )
        .ok()?;
        solver.solve();
        let usable = matches!(
            solver.solution.status,
            SolverStatus::Solved
                | SolverStatus::AlmostSolved
                | SolverStatus::InsufficientProgress
                | SolverStatus::MaxIterations
        ) && solver.solution.x.iter().all(|x| x.is_finite());
        usable.then(|| Solution {
            x: solver.solution.x.clone(),
            z: solver.solution.z.clone(),
        })
    }
}

fn matrix(rows: usize, columns: usize, mut entries: Vec<(usize, usize, f64)>) -> CscMatrix<f64> {
    entries.sort_by_key(|e| (e.1, e.0));
    let (mut i, mut j, mut v) = (Vec::new(), Vec::new(), Vec::new());
    for (row, column, value) in entries {
        i.push(row);
        j.push(column);
        v.push(value);
    }
    CscMatrix::new_from_triplets(rows, columns, i, j, v)
}
