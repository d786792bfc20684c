import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['client/**/*.test.{ts,tsx}'],
    isolate: false, // each file in a process of its own takes a third longer; none leaves anything behind
    // A machine that does ten things at once is slow, not wrong.
    testTimeout: 300_000,
    hookTimeout: 300_000,
  },
});
