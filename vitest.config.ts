import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['client/**/*.test.{ts,tsx}'],
    // A machine that does ten things at once is slow, not wrong.
    testTimeout: 300_000,
    hookTimeout: 300_000,
  },
});
