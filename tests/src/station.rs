//! One run of the program: its lines as they come, its keys, its end.

use std::{
    ffi::OsStr,
    io::{BufRead, BufReader, Read, Write},
    path::Path,
    process::{Child, ChildStdin, Command, ExitStatus, Stdio},
    sync::{Arc, Condvar, Mutex},
    thread::JoinHandle,
    time::{Duration, Instant},
};

use rustix::process::{Pid, Signal, kill_process};

use crate::binary::tallyhob;

/// A line on standard error, and when it was there.
#[derive(Clone, Debug)]
pub struct Line {
    /// When it was read.
    pub at: Instant,
    /// Its text, without its end.
    pub text: String,
}

/// A running station; it is killed when this is dropped.
pub struct Station {
    child: Child,
    keys: Option<ChildStdin>,
    heard: Arc<Heard>,
    readers: Vec<JoinHandle<()>>,
    started: Instant,
}

/// What a station that has ended said.
#[derive(Clone, Debug)]
pub struct Said {
    /// How it ended.
    pub status: ExitStatus,
    /// Standard output.
    pub out: String,
    /// Standard error, line by line; a line without its end does not count.
    pub lines: Vec<Line>,
}

#[derive(Default)]
struct Heard {
    said: Mutex<(Vec<Line>, Vec<u8>)>,
    more: Condvar,
}

impl Station {
    /// Starts the program with its data under `home`, without any setting of this machine.
    pub fn start<S: AsRef<OsStr>>(home: &Path, args: impl IntoIterator<Item = S>) -> Self {
        let mut child = Command::new(tallyhob())
            .args(args)
            .arg("--data-dir")
            .arg(home.join("data"))
            .env_clear()
            .env("HOME", home)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let heard = Arc::new(Heard::default());
        let errors = BufReader::new(child.stderr.take().expect("it is piped"));
        let mut out = child.stdout.take().expect("it is piped");
        let readers = vec![
            std::thread::spawn({
                let heard = Arc::clone(&heard);
                move || heard.lines_of(errors)
            }),
            std::thread::spawn({
                let heard = Arc::clone(&heard);
                move || {
                    let mut bytes = Vec::new();
                    let _ = out.read_to_end(&mut bytes);
                    heard.said.lock().unwrap().1 = bytes;
                }
            }),
        ];
        Self { keys: child.stdin.take(), child, heard, readers, started: Instant::now() }
    }

    /// When it was started.
    pub fn started(&self) -> Instant {
        self.started
    }

    /// Presses keys, one letter each; a station that has ended takes none.
    pub fn press(&mut self, keys: &str) {
        if let Some(to) = &mut self.keys {
            let _ = to.write_all(keys.as_bytes()).and_then(|()| to.flush());
        }
    }

    /// The lines so far.
    pub fn lines(&self) -> Vec<Line> {
        self.heard.said.lock().unwrap().0.clone()
    }

    /// Waits for a line; fails after `limit` with what was said instead.
    pub fn wait_for(&self, what: &str, limit: Duration) -> Line {
        let end = Instant::now() + limit;
        let mut said = self.heard.said.lock().unwrap();
        loop {
            if let Some(line) = said.0.iter().find(|line| line.text.contains(what)) {
                return line.clone();
            }
            let left = end.saturating_duration_since(Instant::now());
            if left.is_zero() {
                let lines: Vec<&str> = said.0.iter().map(|line| line.text.as_str()).collect();
                panic!("expected a line with {what:?} within {limit:?}, found\n{}", lines.join("\n"));
            }
            said = self.heard.more.wait_timeout(said, left).unwrap().0;
        }
    }

    /// Presses keys again and again until a line is there: a key counts only once its word has stood for a while.
    pub fn press_until(&mut self, keys: &str, what: &str, limit: Duration) -> Line {
        let end = Instant::now() + limit;
        loop {
            self.press(keys);
            let next = Instant::now() + Duration::from_millis(700);
            let mut said = self.heard.said.lock().unwrap();
            while Instant::now() < next {
                if let Some(line) = said.0.iter().find(|line| line.text.contains(what)) {
                    return line.clone();
                }
                let left = next.saturating_duration_since(Instant::now());
                said = self.heard.more.wait_timeout(said, left).unwrap().0;
            }
            let lines: Vec<&str> = said.0.iter().map(|line| line.text.as_str()).collect();
            assert!(Instant::now() < end, "{keys:?} did not lead to {what:?} in {limit:?}:\n{}", lines.join("\n"));
        }
    }

    /// Waits for its end; fails after `limit`.
    pub fn end(mut self, limit: Duration) -> Said {
        let end = Instant::now() + limit;
        self.keys = None;
        // both streams end with the program, so the last reader tells
        let mut said = self.heard.said.lock().unwrap();
        loop {
            if let Some(status) = self.child.try_wait().unwrap() {
                drop(said);
                return self.said(status);
            }
            assert!(Instant::now() < end, "still running after {limit:?}: {:?}", said.0.last());
            said = self.heard.more.wait_timeout(said, Duration::from_millis(20)).unwrap().0;
        }
    }

    /// Asks it to end and waits.
    pub fn terminate(self, limit: Duration) -> Said {
        kill_process(self.pid(), Signal::TERM).unwrap();
        self.end(limit)
    }

    /// Kills it at once, as a power cut does.
    pub fn kill(mut self) -> Said {
        kill_process(self.pid(), Signal::KILL).unwrap();
        let status = self.child.wait().unwrap();
        self.said(status)
    }

    fn said(mut self, status: ExitStatus) -> Said {
        for reader in self.readers.drain(..) {
            reader.join().unwrap();
        }
        let (lines, out) = std::mem::take(&mut *self.heard.said.lock().unwrap());
        Said { status, out: String::from_utf8(out).unwrap(), lines }
    }

    fn pid(&self) -> Pid {
        Pid::from_child(&self.child)
    }
}

impl Drop for Station {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Heard {
    fn lines_of(&self, mut from: impl BufRead) {
        let mut text = Vec::new();
        loop {
            text.clear();
            match from.read_until(b'\n', &mut text) {
                Ok(0) | Err(_) => break,
                Ok(_) if text.ends_with(b"\n") => {
                    text.pop();
                    let line = Line { at: Instant::now(), text: String::from_utf8_lossy(&text).into_owned() };
                    self.said.lock().unwrap().0.push(line);
                    self.more.notify_all();
                }
                Ok(_) => {}
            }
        }
        self.more.notify_all();
    }
}

impl Said {
    /// Whether it ended with this exit code.
    pub fn ended_with(&self, code: i32) -> bool {
        self.status.code() == Some(code)
    }

    /// Standard error as one text, for a failure message.
    pub fn errors(&self) -> String {
        let lines: Vec<&str> = self.lines.iter().map(|line| line.text.as_str()).collect();
        lines.join("\n")
    }
}

/// Runs a command to its end and gives its output; fails unless it ends with 0 within a minute.
pub fn output_of<S: AsRef<OsStr>>(home: &Path, args: impl IntoIterator<Item = S>) -> String {
    let said = Station::start(home, args).end(Duration::from_secs(60));
    assert!(said.ended_with(0), "{:?}: {}\n{}", said.status, said.errors(), said.out);
    said.out
}
