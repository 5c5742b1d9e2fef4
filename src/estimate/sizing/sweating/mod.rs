//! Where water would condense: on cold pipes, on the warm side of the envelope, and inside the wall.
//!
//! In: the air around, the cold surface, the insulation. Out: surface temperature against dew point, the
//! insulation that keeps it dry, and the side for the vapour barrier. Deliberately absent: drying in
//! time, and wind-driven rain.

mod envelope;
mod film;
mod pipe;

pub use envelope::{
    BarrierAdvice, BarrierInput, BarrierSide, FaceVerdict, SURFACE_METHOD, SURFACE_SOURCE, WarmFace,
    WarmFaceInput, vapour_barrier, warm_face,
};
pub use film::Film;
pub use pipe::{
    INSULATION_METHOD, INSULATION_SOURCE, InsulatedPipe, PipeInput, PipeSurface, STANDARD_THICKNESSES_IN,
    insulate_pipe, pipe_surface,
};

/// Margin above the dew point below which a surface is told to be at risk, K (3 °F; common practice, no source).
pub const USUAL_MARGIN_K: f64 = 3.0 / 1.8;
