//! Keeps panics of the library off the error output, and only those.

use std::cell::Cell;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind, set_hook, take_hook};
use std::sync::Once;

thread_local! {
    /// Whether this thread is inside the library.
    static INSIDE: Cell<bool> = const { Cell::new(false) };
}

/// Calls the library and gives nothing if it panicked; nobody is told of that panic.
///
/// Panics of other threads, and of what the library calls back by way of [`aloud`], are told as ever; those of the
/// callbacks go on to the caller. The first call puts a hook before the one that is there; a hook set later is not
/// touched, and tells what it likes.
pub(crate) fn quietly<T>(act: impl FnOnce() -> T) -> Option<T> {
    static HOOK: Once = Once::new();
    HOOK.call_once(|| {
        let told = take_hook();
        set_hook(Box::new(move |panic| {
            if !INSIDE.get() {
                told(panic);
            }
        }));
    });
    let outer = INSIDE.replace(true);
    let done = catch_unwind(AssertUnwindSafe(act));
    let of_library = INSIDE.replace(outer);
    match done {
        Ok(done) => Some(done),
        Err(_) if of_library => None,
        Err(panic) => resume_unwind(panic),
    }
}

/// Calls back out of the library: a panic in there is the caller's own.
pub(crate) fn aloud<T>(act: impl FnOnce() -> T) -> T {
    let inside = INSIDE.replace(false);
    let done = act();
    INSIDE.set(inside);
    done
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use std::sync::Mutex;

    /// What the hook before ours was told; one test, since the hook belongs to the whole process.
    #[test]
    fn only_panics_of_the_library_are_kept_quiet() {
        static TOLD: Mutex<Vec<String>> = Mutex::new(Vec::new());
        // puts our hook in place, so that the one below stands before it
        assert_eq!(quietly(|| 3), Some(3));
        let ours = take_hook();
        set_hook(Box::new(move |panic| {
            if !INSIDE.get() {
                TOLD.lock().unwrap().push(panic.payload_as_str().unwrap_or("").to_owned());
                return;
            }
            ours(panic);
        }));
        let told = || TOLD.lock().unwrap().iter().filter(|told| told.starts_with("test of quiet")).count();
        assert_eq!(quietly(|| panic!("test of quiet: library")), None::<u8>);
        assert_eq!(told(), 0);
        // a panic of the callback is told and goes on to the caller
        let through = catch_unwind(|| quietly(|| aloud(|| panic!("test of quiet: callback"))));
        assert!(through.is_err());
        assert_eq!(told(), 1);
        // another thread, while this one is inside
        let other = quietly(|| std::thread::spawn(|| panic!("test of quiet: other")).join().is_err());
        assert_eq!((other, told()), (Some(true), 2));
        // and afterwards this thread is heard again
        assert!(catch_unwind(|| panic!("test of quiet: after")).is_err());
        assert_eq!(told(), 3);
        drop(take_hook());
    }
}
