//! What flies: the controller on its board, a tick for every entry of the link.

use core::sync::atomic::{AtomicU32, Ordering};

use mastwright_core::board::{Board, Failed, Verdict};
use mastwright_core::journal::Stamp;
use mastwright_core::link::responder::Carrier;
use mastwright_core::{Config, Inputs, Outputs, Sequencer};

use crate::clock::{EndOfTick, Moment};
use crate::sensors::{self, Ports};
use crate::{meter, trial};

/// The tick that is under way, counted from the latest reset: the time of the log.
static AT: AtomicU32 = AtomicU32::new(0);

defmt::timestamp!("{=u32}", AT.load(Ordering::Relaxed));

/// The board with the controller on it.
pub struct Flight {
    board: Board<Ports>,
    verdict: Verdict,
}

impl Flight {
    /// On this board.
    #[must_use]
    pub const fn on(board: Board<Ports>) -> Self {
        Self {
            board,
            verdict: Verdict::OnTime,
        }
    }

    /// Puts every output into its fail-safe value.
    ///
    /// # Errors
    /// The first output that did not obey.
    pub fn fail_safe(&mut self) -> Result<(), Failed> {
        self.board.fail_safe()
    }

    /// True unless an output did not obey; then only a reset helps.
    #[must_use]
    pub const fn is_sound(&self) -> bool {
        !matches!(self.verdict, Verdict::Failed(_))
    }
}

impl Carrier for Flight {
    fn step(
        &mut self,
        at: Stamp,
        sequencer: &mut Sequencer,
        inputs: &Inputs,
        config: &Config,
    ) -> Outputs {
        AT.store(at.get(), Ordering::Relaxed);
        if at == Stamp::default() {
            // By this the host knows from when on the time of the log counts.
            defmt::info!("awake");
        }
        sensors::give(inputs);
        let mut deadline = EndOfTick(Moment::now());
        let ticked = self.board.tick_with(&mut deadline, |sampled| {
            let told = Inputs {
                missed_deadline: inputs.missed_deadline || sampled.missed_deadline,
                ..*inputs
            };
            // The link may bring what no board can sample, such as a reading that comes
            // late; the controller is told exactly that, and sampling is compared.
            let alike = Inputs {
                missed_deadline: told.missed_deadline,
                ..*sampled
            };
            if alike == told {
                meter::sampled_alike();
            }
            trial::befall();
            meter::around(|| sequencer.step(&told, config))
        });
        if ticked.verdict != Verdict::OnTime {
            defmt::warn!("tick not carried out: {}", ticked.verdict);
        }
        self.verdict = ticked.verdict;
        ticked.outputs
    }
}
