//! Work beside other work.

use std::thread::JoinHandle;
use std::time::Duration;

/// Many pieces of work shared out over all processors, in an order that their results do not depend on.
pub mod parallel {
    pub use rayon::prelude::*;
}

/// Work that goes on beside whoever began it. It goes on when this is dropped.
#[derive(Debug)]
pub struct Beside<T>(JoinHandle<T>);

impl<T: Send + 'static> Beside<T> {
    /// Begins it.
    pub fn begin(work: impl FnOnce() -> T + Send + 'static) -> Beside<T> {
        Beside(std::thread::spawn(work))
    }

    /// True once it is done or broke off.
    pub fn is_done(&self) -> bool {
        self.0.is_finished()
    }

    /// Waits until it is done; none if it broke off.
    pub fn wait(self) -> Option<T> {
        self.0.join().ok()
    }
}

/// Does work while `meanwhile` is called every so often; none if the work broke off.
pub fn while_working<T: Send>(
    every: Duration,
    work: impl FnOnce() -> T + Send,
    mut meanwhile: impl FnMut(),
) -> Option<T> {
    std::thread::scope(|scope| {
        let work = scope.spawn(work);
        while !work.is_finished() {
            pause(every);
            meanwhile();
        }
        work.join()
    })
    .ok()
}

/// Does two things at the same time where there are processors for it, and gives what both come to.
pub fn both<A: Send, B: Send>(a: impl FnOnce() -> A + Send, b: impl FnOnce() -> B + Send) -> (A, B) {
    rayon::join(a, b)
}

/// Lets time pass for this thread.
pub fn pause(long: Duration) {
    std::thread::sleep(long);
}

/// How many processors there are besides one that is busy already.
pub fn spare() -> usize {
    std::thread::available_parallelism().map_or(1, |n| n.get().saturating_sub(1))
}
