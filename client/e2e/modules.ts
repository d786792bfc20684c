// What the browser tests take from the client's own source, in one bundle: a task's steps are played here as the app plays
// them, and pictures are drawn as it draws them.

export { h } from 'preact';
export * as tones from '../src/cues/tones';
export * as colour from '../src/domain/colour';
export * as stitchSymptoms from '../src/domain/stitch-symptoms';
export * as explore from '../src/domain/task/explore';
export * as task from '../src/domain/task/index';
export * as pace from '../src/domain/task/pace';
export * as world from '../src/domain/task/world';
export * as read from '../src/read';
export * as state from '../src/state';
export * as memory from '../src/store/memory';
export * as store from '../src/store/store';
export * as tables from '../src/store/tables';
export * as taskDone from '../src/text/task-done';
export * as taskOffers from '../src/text/task-offers';
export * as asText from '../src/ui/as-text';
export * as stitchView from '../src/ui/stitch-view';
