//! Shear, moment, slope and deflection of a stretch of beam, part by part.
//!
//! Between neighbouring places where something happens, a load, the end of a load or a hinge, the
//! load per metre is linear: at u beyond the first of them
//! V(u) = V − q u − q′ u²/2, M(u) = M + ∫ V du, w′(u) = w′ − ∫ M du/EI, w(u) = w + ∫ w′ du.
//! The parts are worked out one after the other, so that n loads take n steps.

/// A part of a segment on which nothing happens, and its state at its first place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct SmoothPart {
    pub from: f64,
    pub to: f64,
    pub ei_nm2: f64,
    /// Load per metre, and its change per metre.
    pub load_n_m: f64,
    pub load_rate: f64,
    pub shear_n: f64,
    pub moment_nm: f64,
    pub slope: f64,
    pub deflection_m: f64,
}

impl SmoothPart {
    pub fn shear(&self, at: f64) -> f64 {
        let u = at - self.from;
        self.shear_n - u * (self.load_n_m + u * self.load_rate / 2.0)
    }

    pub fn moment(&self, at: f64) -> f64 {
        let u = at - self.from;
        self.moment_nm + u * (self.shear_n - u * (self.load_n_m / 2.0 + u * self.load_rate / 6.0))
    }

    pub fn slope(&self, at: f64) -> f64 {
        let u = at - self.from;
        let loads = u * (self.load_n_m / 6.0 + u * self.load_rate / 24.0);
        self.slope - u * (self.moment_nm + u * (self.shear_n / 2.0 - loads)) / self.ei_nm2
    }

    pub fn deflection(&self, at: f64) -> f64 {
        let u = at - self.from;
        let loads = u * (self.load_n_m / 24.0 + u * self.load_rate / 120.0);
        let bent = u * u * (self.moment_nm / 2.0 + u * (self.shear_n / 6.0 - loads));
        self.deflection_m + u * self.slope - bent / self.ei_nm2
    }

    /// The state at `at`, where the next part begins.
    fn carried_to(&self, at: f64) -> Self {
        Self {
            from: at,
            load_n_m: self.load_n_m + (at - self.from) * self.load_rate,
            shear_n: self.shear(at),
            moment_nm: self.moment(at),
            slope: self.slope(at),
            deflection_m: self.deflection(at),
            ..*self
        }
    }

    /// Where the load per metre changes sign, or the middle: on either side the shear is monotone.
    pub fn flat_load(&self) -> f64 {
        let place = self.from - self.load_n_m / self.load_rate;
        if place > self.from && place < self.to {
            place
        } else {
            f64::midpoint(self.from, self.to)
        }
    }
}

/// What happens at one place of a segment.
#[derive(Clone, Copy, Default)]
pub(super) struct Change {
    pub at: f64,
    pub force_n: f64,
    pub load_n_m: f64,
    pub load_rate: f64,
    /// Distributed loads that begin, less those that end.
    pub spreads: i64,
    pub turn: f64,
}

/// The parts from `start`, which holds the state at the first place and the last place.
pub(super) fn parts(start: SmoothPart, mut changes: Vec<Change>) -> Vec<SmoothPart> {
    for change in &mut changes {
        change.at = change.at.clamp(start.from, start.to);
    }
    changes.sort_by(|a, b| a.at.total_cmp(&b.at));
    let mut parts = Vec::with_capacity(changes.len() + 1);
    let mut here = start;
    let mut spreads = 0;
    for change in changes {
        if change.at > here.from {
            parts.push(SmoothPart {
                to: change.at,
                ..here
            });
            here = here.carried_to(change.at);
        }
        here.shear_n -= change.force_n;
        here.slope += change.turn;
        spreads += change.spreads;
        if spreads == 0 {
            // Nothing is left of the loads that have ended, not even rounding.
            (here.load_n_m, here.load_rate) = (0.0, 0.0);
        } else {
            here.load_n_m += change.load_n_m;
            here.load_rate += change.load_rate;
        }
    }
    if start.to > here.from {
        parts.push(here);
    }
    parts
}
