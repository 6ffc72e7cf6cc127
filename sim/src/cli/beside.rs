//! Who sits beside a session in the cockpit: a trainer at another terminal, or nobody.

#[cfg(unix)]
use std::path::Path;

#[cfg(unix)]
use crate::cockpit::trainer::{Post, Trainee};

/// A trainer, or nobody.
#[derive(Debug, Default)]
pub(super) struct Beside {
    #[cfg(unix)]
    post: Option<Post>,
}

#[cfg(unix)]
impl Beside {
    /// A trainer, who may come at any time, at `socket` or at the usual place.
    pub(super) fn trainer(socket: Option<&Path>) -> miette::Result<Self> {
        let path = super::trainer::place(socket)?;
        let post = Post::open(&path).map_err(super::trainer::report)?;
        Ok(Self { post: Some(post) })
    }

    /// How a trainer comes; none: nobody is to come.
    pub(super) fn invitation(&self) -> Option<String> {
        let post = self.post.as_ref()?;
        let path = post.path().display();
        Some(format!(
            "faults are hidden; in another terminal: mastwright cockpit --trainer --socket {path}"
        ))
    }

    /// Lets the trainer, if there is one, order something.
    pub(super) fn attend(&mut self, trainee: &mut dyn Trainee) {
        if let Some(post) = &mut self.post {
            post.attend(trainee);
        }
    }
}

#[cfg(not(unix))]
impl Beside {
    /// Nobody is to come.
    pub(super) const fn invitation(&self) -> Option<String> {
        None
    }

    /// Nobody is there.
    pub(super) const fn attend<T>(&mut self, _trainee: &mut T) {}
}
