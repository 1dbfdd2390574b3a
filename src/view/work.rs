//! Long work beside the window: started, watched, stopped, and its result fetched once.

use std::fmt;
use std::sync::{Arc, Mutex};

use crate::analysis::Progress;
use crate::outside::threads::Beside;

/// Work that goes on in a thread of its own.
pub struct Work<T> {
    progress: Arc<Progress>,
    total: u64,
    result: Arc<Mutex<Option<Result<T, String>>>>,
    thread: Option<Beside<()>>,
}

impl<T> fmt::Debug for Work<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Work")
            .field("done", &self.progress.done())
            .field("total", &self.total)
            .finish_non_exhaustive()
    }
}

impl<T: Send + 'static> Work<T> {
    /// Starts work of so many parts.
    pub fn start(total: u64, work: impl FnOnce(&Progress) -> Result<T, String> + Send + 'static) -> Work<T> {
        let progress = Arc::new(Progress::default());
        let result = Arc::new(Mutex::new(None));
        let (shared, slot) = (progress.clone(), result.clone());
        let thread = Beside::begin(move || {
            let outcome = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| work(&shared)))
                .unwrap_or_else(|_| Err("the computation broke off".to_owned()));
            if let Ok(mut slot) = slot.lock() {
                *slot = Some(outcome);
            }
        });
        Work {
            progress,
            total,
            result,
            thread: Some(thread),
        }
    }

    /// Share done, 0 to 1.
    pub fn share(&self) -> f32 {
        (self.progress.done() as f32 / self.total.max(1) as f32).min(1.0)
    }

    /// Parts done so far.
    pub fn done(&self) -> u64 {
        self.progress.done()
    }

    /// The result, once, when it is there.
    pub fn take(&mut self) -> Option<Result<T, String>> {
        let outcome = self.result.lock().ok()?.take()?;
        if let Some(thread) = self.thread.take() {
            // It has stored its result, so it ends at once.
            let _ = thread.wait();
        }
        Some(outcome)
    }
}

impl<T> Drop for Work<T> {
    fn drop(&mut self) {
        // Nobody waits for it any more.
        self.progress.stop();
    }
}

/// Work that goes on, and then what it has come to.
#[derive(Debug)]
pub struct Answer<T> {
    work: Option<Work<T>>,
    found: Option<Result<T, String>>,
}

impl<T: Send + 'static> Answer<T> {
    /// Starts work of so many parts.
    pub fn start(
        total: u64,
        work: impl FnOnce(&Progress) -> Result<T, String> + Send + 'static,
    ) -> Answer<T> {
        Answer {
            work: Some(Work::start(total, work)),
            found: None,
        }
    }

    /// There is none, and why.
    pub fn none(why: String) -> Answer<T> {
        Answer {
            work: None,
            found: Some(Err(why)),
        }
    }

    /// The work, while it goes on.
    pub fn working(&self) -> Option<&Work<T>> {
        self.work.as_ref()
    }

    /// Looks whether it has come to its end; true when that is first seen.
    pub fn poll(&mut self) -> bool {
        let Some(result) = self.work.as_mut().and_then(Work::take) else {
            return false;
        };
        self.found = Some(result);
        self.work = None;
        true
    }

    /// What it has come to, once it is there.
    pub fn found(&self) -> Option<Result<&T, &str>> {
        let found = self.found.as_ref()?;
        Some(found.as_ref().map_err(String::as_str))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wait<T: Send + 'static>(work: &mut Work<T>) -> Result<T, String> {
        loop {
            if let Some(result) = work.take() {
                return result;
            }
            std::thread::yield_now();
        }
    }

    #[test]
    fn a_result_can_be_taken_once() {
        let mut work = Work::start(1, |_| Ok(7));
        assert_eq!(wait(&mut work), Ok(7));
        assert!(work.take().is_none());
    }

    #[test]
    fn a_panic_is_a_failure_and_not_the_end_of_the_program() {
        let mut work: Work<()> = Work::start(1, |_| panic!("as a test"));
        assert_eq!(wait(&mut work), Err("the computation broke off".to_owned()));
    }
}
