/** Words of the looks and acts that a next step can ask for, by the ids of the fault model. */

/** A look: what to do, in at most twelve words, and what each answer is called, normal first. */
export type CheckWords = { readonly say: string; readonly states: { readonly [state: string]: string } };

const noChange = 'No change';

export const checkSay: { readonly [finding: string]: CheckWords } = {
  bobbin_on_top: {
    say: 'Top face: does bobbin colour show?',
    states: {
      none: 'No',
      dots: 'Dots in the holes',
      pulled_up: 'Bumps between holes',
      flatline: 'Top lies straight, bobbin wraps it',
    },
  },
  top_on_back: {
    say: 'Back: does top colour show?',
    states: {
      none: 'No',
      dots: 'Dots in the holes',
      pulled_down: 'Bumps or small loops',
      flatline: 'Bobbin lies straight, top wraps it',
      big_loops: 'Big loops or a mat',
    },
  },
  both_sides: {
    say: 'Are both faces bad at once?',
    states: { no: 'No', dots_both: 'Dots on both', loops_both: 'Loops or slack on both' },
  },
  pattern_time: {
    say: 'When does it happen?',
    states: {
      constant: 'All the time',
      random: 'Now and then',
      periodic: 'At even spacing',
      start_only: 'Only at starts',
      getting_worse: 'Getting worse',
    },
  },
  direction: {
    say: 'Which direction is worst?',
    states: {
      all_same: 'All alike',
      away: 'Away from me',
      toward: 'Toward me',
      sideways: 'Sideways',
      curves: 'Curves and points',
    },
  },
  speed_dep: { say: 'Does speed matter?', states: { no: 'No', fast: 'Worse when fast', slow: 'Worse when slow' } },
  mode_dep: {
    say: 'Regulated and manual: is it in both?',
    states: { same: 'Same in both', regulated_only: 'Only regulated', manual_only: 'Only manual' },
  },
  stitch_length: {
    say: 'Ten stitches on a ruler: are they even?',
    states: { even: 'Even', uneven: 'Long and short', too_long: 'Even, but long for the shape' },
  },
  skips: { say: 'Any skipped stitches?', states: { none: 'None', some: 'A few', many: 'Many' } },
  top_breaks: {
    say: 'Does the top thread break?',
    states: { none: 'No', some: 'Once or twice', often: 'Again and again' },
  },
  bobbin_breaks: { say: 'Does the bobbin thread break?', states: { none: 'No', some: 'Yes' } },
  broken_end: {
    say: 'How does the broken end look?',
    states: { no_break: 'Nothing broke', clean: 'Clean snap', frayed: 'Frayed, furry', kinked: 'Curled, kinked' },
  },
  random_loops: {
    say: 'Single loops with good stitches between?',
    states: { none: 'None', back: 'On the back', top: 'On the top' },
  },
  eyelash: { say: 'Eyelashes on curves?', states: { none: 'None', back: 'On the back', top: 'On the top' } },
  nest: { say: 'A nest of thread below?', states: { none: 'None', start: 'At starts only', any: 'Anywhere' } },
  firmness: {
    say: 'Lift a stitch with a pin, both faces.',
    states: {
      snug: 'Snug on both',
      slack_back: 'Slack on the back',
      slack_top: 'Slack on the top',
      slack_both: 'Slack on both',
      puckered: 'Tight, cloth draws in',
    },
  },
  holes: {
    say: 'How do the needle holes look?',
    states: { normal: 'They close', open: 'Stay open', cut: 'Cut threads' },
  },
  fibre: { say: 'Is batting fibre pulled through?', states: { none: 'None', back: 'On the back', top: 'On the top' } },
  noise: {
    say: 'What does it sound like?',
    states: {
      normal: 'As always',
      pop: 'Pop at the needle',
      rattle: 'Rattle at the bobbin',
      squeal: 'Dry whirr, squeal',
      tick: 'Tick of metal',
      knock: 'A knock',
    },
  },
  cloth_motion: {
    say: 'From the side: what does the cloth do?',
    states: { still: 'Lies still', flags: 'Lifts with the needle', wave: 'Wave ahead of the foot' },
  },
  patch_only: { say: 'Only over seams, fused or deep-pile places?', states: { no: 'No', yes: 'Yes' } },
  bobbin_level: {
    say: 'Does it change as the bobbin empties?',
    states: { no: 'No', full: 'Worse when fresh', near_end: 'Worse near the end', each_bobbin: 'Differs by bobbin' },
  },
  cone_motion: {
    say: 'Watch the cone for half a minute.',
    states: { smooth: 'Smooth', whips: 'Whips or puddles', jerks: 'Stops and jerks' },
  },
  pull_bobbin: {
    say: 'Pull a foot of bobbin thread slowly.',
    states: { smooth: 'Smooth', jerky: 'Jerky', none: 'No drag' },
  },
  pull_top: {
    say: 'Draw the top thread from behind the needle.',
    states: { as_usual: 'Firm and smooth', stiff: 'Very stiff', light: 'Almost none', jerky: 'Jerky' },
  },
  card_spring: {
    say: 'Card corner under the bobbin spring, screw untouched.',
    states: { clean: 'Came out clean', lint: 'Lint came out' },
  },
  floss_discs: {
    say: 'Tension open: floss the discs, then thread again.',
    states: { clean: 'Clean, seated', debris: 'Lint or wax came out', unseated: 'Thread was not between them' },
  },
  check_spring: {
    say: 'Draw and let go: does the check spring swing?',
    states: { full: 'Full swing', weak: 'Little or none', broken: 'Bent or broken' },
  },
  threading_walk: {
    say: 'Walk the thread path with a finger.',
    states: {
      right: 'All as it should be',
      missed_guide: 'A guide missed, or a wrap extra',
      missed_lever: 'Lever or check spring missed',
    },
  },
  rethread_top: {
    say: 'Thread the top again from the cone. Sew ten inches.',
    states: { no_change: noChange, cured: 'That was it' },
  },
  top_knob_response: {
    say: 'Top one whole turn tighter, ten inches, then back.',
    states: { as_expected: 'The stitch moved', no_change: noChange, overshoots: 'Jumped too far' },
  },
  bobbin_screw_response: {
    say: 'Turn the case screw 5 on the clock. Drop again.',
    states: { as_expected: 'The drop changed', no_change: 'No change, or creeps back', jumps: 'Changed too much' },
  },
  screw_mark: { say: 'Has the pen mark moved by itself?', states: { no: 'No', yes: 'Yes' } },
  swap_needle: {
    say: 'New needle, well set. Sew ten inches.',
    states: { no_change: noChange, better: 'Better', cured: 'That was it' },
  },
  needle_look: {
    say: 'Look at the old needle, and how it sat.',
    states: { fine: 'Straight and well set', mis_set: 'Turned or low', damaged: 'Bent, rough point' },
  },
  needle_size: {
    say: 'Does the needle suit thread and cloth?',
    states: { fits: 'It fits', small: 'On the small side', large: 'On the large side' },
  },
  swap_bobbin: { say: 'Put in a bobbin you know is good.', states: { no_change: noChange, cured: 'That was it' } },
  swap_case: { say: 'Put in a spare bobbin case.', states: { no_change: noChange, cured: 'That was it' } },
  bobbin_look: {
    say: 'Squeeze the bobbin, roll it, look at it.',
    states: {
      fine: 'Firm, level, true',
      spongy: 'Spongy or uneven',
      overfull: 'Overfull',
      damaged: 'Nicked, bent, wrong kind',
    },
  },
  bobbin_way: {
    say: 'Which way does the bobbin turn as you pull?',
    states: { right: 'As the manual shows', wrong: 'The other way' },
  },
  case_seat: { say: 'Power off: tug the bobbin case.', states: { latched: 'Latched', loose: 'It was loose' } },
  overspin: {
    say: 'Pull the bobbin tail hard, and stop.',
    states: { stops: 'Bobbin stops', overruns: 'Bobbin runs on' },
  },
  hook_look: {
    say: 'Power off: look into the hook with a light.',
    states: { clean: 'Clean, a trace of oil', lint: 'Lint or a scrap', dry: 'Dry', nick: 'A nick' },
  },
  path_floss: {
    say: 'Draw cotton floss through guides and plate hole.',
    states: { smooth: 'Smooth', guide: 'Catches in a guide', plate: 'Catches at the plate' },
  },
  hand_turn: {
    say: 'Turn by hand: is the bobbin thread picked up?',
    states: { picks_up: 'Caught every time', misses: 'The hook misses the loop', binds: 'Binds or knocks' },
  },
  supply_look: {
    say: 'Look at cone, eyelet and net.',
    states: {
      fine: 'Upright, centred, net loose',
      off_centre: 'Off centre, or a snag',
      no_net: 'Slick thread, no net',
      net_tight: 'Net or felt drags',
    },
  },
  swap_spool: {
    say: 'A thread you trust, same settings. Ten inches.',
    states: { no_change: noChange, cured: 'That was it' },
  },
  slow_down: { say: 'Sew the same shape at half speed.', states: { no_change: noChange, better: 'Better' } },
  loosen_rollers: {
    say: 'Ease the rollers one notch. Sew again.',
    states: { no_change: noChange, better: 'Better', worse: 'Worse' },
  },
  turn_sample: {
    say: 'Turn the sample a quarter. What does it follow?',
    states: { no_direction: 'No direction at all', machine: 'The machine', cloth: 'The cloth' },
  },
  scrap_test: { say: 'Same settings on plain cotton scrap.', states: { still: 'Still there', gone: 'Gone' } },
  push_up: {
    say: 'Push a finger up under the sandwich.',
    states: { soft: 'Soft, finger shows', drum: 'Tight as a drum', sags: 'Sags on the bed' },
  },
  foot_gap: {
    say: 'Needle down: slide a card under the foot.',
    states: { right: 'Slides with light drag', high: 'Loose gap', low: 'Pinched' },
  },
  batting_side: {
    say: 'Batting: which side is up, how thick?',
    states: { right: 'Right way, room to lock', wrong: 'Wrong side up', thin: 'Very thin or hard' },
  },
  roll_check: {
    say: 'Power off: push the head with one finger.',
    states: { free: 'Rolls alike both ways', drags: 'Drags or bumps' },
  },
  encoder_look: {
    say: 'Look at regulator wheels or sensors.',
    states: { fine: 'Clean and touching', slips: 'Dirty, slipping, loose' },
  },
  tails: { say: 'Start again, holding both tails.', states: { no_change: noChange, cured: 'Clean starts' } },
  thread_snap: {
    say: 'Break a foot of thread by hand. Look.',
    states: { strong: 'Strong and even', weak: 'Weak, lumpy, furry' },
  },
  command_check: { say: 'Does the motor start, stop and park as asked?', states: { yes: 'Yes', no: 'No' } },
  oil_clean: {
    say: 'Running hours since it was cleaned and oiled?',
    states: { fresh: 'Under 8', due: '8 to 20', late: 'Over 20' },
  },
  needle_age: { say: 'Running hours on this needle?', states: { fresh: 'Under 8', due: '8 to 16', late: 'Over 16' } },
  what_changed: {
    say: 'What was changed just before?',
    states: {
      nothing: 'Nothing',
      top_thread: 'Top thread',
      bobbin: 'Bobbin or its thread',
      needle: 'Needle',
      quilt: 'Quilt, backing, batting',
      moved: 'Moved, serviced, rested',
    },
  },
  backing: {
    say: 'What are backing and top?',
    states: { plain: 'Plain cotton', dense: 'Batik, sheeting, dense', pile: 'Deep pile or fused' },
  },
  thread_kind: {
    say: 'What is the top thread?',
    states: {
      cotton: 'Cotton, 40 to 50',
      poly: 'Polyester, 40 to 50',
      fine: 'Fine, 60 to 100',
      heavy: 'Heavy, 12 to 30',
      slick: 'Clear or metallic',
    },
  },
  bobbin_thread: {
    say: 'What is the bobbin thread?',
    states: {
      cotton: 'Cotton, 40 to 50',
      poly: 'Polyester, 40 to 50',
      fine: 'Fine, 60 to 100',
      heavy: 'Heavy, 12 to 30',
      slick: 'Clear or slick',
    },
  },
  event: {
    say: 'Did something happen just before?',
    states: {
      none: 'No',
      struck: 'Needle struck something',
      jam: 'A nest or a jam',
      dropped: 'Bobbin case dropped',
      power: 'Power or error',
    },
  },
  drop_test: {
    say: 'Three drops: what did the case do?',
    states: { neutral: 'Held, then 4 to 6 in', barely: 'Hardly moved', falls: 'Fell by itself', jerky: 'They differ' },
  },
  finger_pad: {
    say: 'Case on your finger pads, pull the thread up.',
    states: { tips: 'Tips up, stays', lifts: 'Lifts off', flat: 'Lies flat, thread runs' },
  },
  gauge_bobbin: {
    say: 'What does the gauge say, against your record?',
    states: { in_band: 'As recorded', high: 'Above', low: 'Below', jumps: 'It jumps' },
  },
  machine_kind: { say: 'What is the machine?', states: { frame: 'On a frame', sit_down: 'Sit-down' } },
  drive: { say: 'Who steers?', states: { hand: 'By hand', computer: 'Computer' } },
  quilt_support: {
    say: 'Is the quilt held up all round?',
    states: { held: 'Held up, it floats', drags: 'It hangs or drags' },
  },
  seen_from: {
    say: 'Step back: from how far does it show?',
    states: { arm: 'From arm’s length', close: 'Only up close', far: 'From across the room' },
  },
  work_kind: {
    say: 'What kind of work is it?',
    states: { custom: 'Custom', edge_to_edge: 'Edge to edge', practice: 'Practice', show: 'Show' },
  },
  turned_lately: {
    say: 'Was a screw turned lately, and by whom?',
    states: {
      nobody: 'By nobody',
      top: 'The top',
      bobbin: 'The bobbin case',
      both: 'Both',
      somebody: 'By somebody else',
    },
  },
  pace_changed: {
    say: 'Did pace or stitch length change?',
    states: { no: 'No', faster: 'Faster', slower: 'Slower', longer: 'Longer stitch', shorter: 'Shorter stitch' },
  },
  guide_where: {
    say: 'Which guide is rough?',
    states: { nowhere: 'None', outside: 'An eyelet outside, mine to change', inside: 'Inside, or under a cover' },
  },
  warning: {
    say: 'A smell, heat, or an error shown?',
    states: { none: 'None', smell: 'A smell', heat: 'Heat', error: 'An error' },
  },
  loft: {
    say: 'How thick is the sandwich?',
    states: { usual: 'Usual', thin: 'Thin or hard', high: 'High loft', layers: 'Many layers, bulky seams' },
  },
  lever_look: {
    say: 'Power off, turn by hand: does the thread follow the lever?',
    states: { moves: 'It rises and falls', still: 'It stays still' },
  },
  air: { say: 'How is the air in the room?', states: { normal: 'Normal', dry: 'Dry, sparks', damp: 'Damp' } },
};

/** An act, in at most twelve words. */
export const actSay: { readonly [action: string]: string } = {
  rethread_top: 'Thread the top again, from cone to needle.',
  rethread_bobbin: 'Thread the bobbin case again: slot, spring, pigtail.',
  seat_case: 'Press the bobbin case home until it clicks.',
  card_spring: 'Card corner under the bobbin spring until it comes clean.',
  floss_discs: 'Tension open: floss the discs, then thread again.',
  clean_oil_hook: 'Brush the hook race. One drop of oil. Scrap first.',
  new_needle: 'Fit a new needle, well set.',
  needle_up: 'Fit a needle one size larger.',
  needle_down: 'Fit a needle one size smaller, or sharper.',
  swap_bobbin: 'Put in a bobbin you know is good.',
  rewind_bobbin: 'Wind the bobbin again: steady, firm, below the rim.',
  anti_backlash: 'Tame the overspin, as the manual allows.',
  swap_case: 'Put in a spare bobbin case, set by drop test.',
  net_and_centre: 'Net on the cone, eyelet straight above it.',
  net_off: 'Fold the net down, or take it off.',
  known_thread: 'Run a thread you trust on the same settings.',
  slow_down: 'Slow down until the curve is clean.',
  match_hands: 'Motor up a little, or hands slower.',
  loosen_rollers: 'Ease the rollers one notch.',
  take_up_slack: 'Take up the slack in rollers and clamps.',
  foot_adjust: 'Set the foot for this sandwich, by the manual.',
  suit_cloth: 'Match the colours, or a finer bobbin thread.',
  turn_batting: 'Try the batting the other way up, on an offcut.',
  patch_care: 'Clean needle, slower over glue, seams and pile.',
  hold_tails: 'Bring the bobbin up and hold both tails.',
  shorter_stitch: 'Two stitches more to the inch on curves.',
  clean_regulator: 'Power off: wipe regulator wheels and rails.',
  clean_rails: 'Power off: clean wheels and rails, clear cables.',
  room_air: 'Damp the air, calm the thread with a net.',
  check_spring_set: 'Free the check spring of thread. Bend nothing.',
  hold_up: 'Hold the quilt up all round, so that it floats.',
  renew_eyelet: 'Change the rough eyelet, or lead the thread past it.',
  replace_guide: 'Mark the rough place with tape. Renew it, or a technician.',
};
