import { defineConfig } from 'vitest/config';

export default defineConfig({
  // A minute a test: a machine that does ten things at once is slow, not wrong.
  test: { include: ['client/**/*.test.{ts,tsx}'], testTimeout: 60_000, hookTimeout: 60_000 },
});
