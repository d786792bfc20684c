/** Tasks that were begun. Their states are written with the records they make (write.ts). */
import type { Home } from './home';
import { type KeptTask, within } from './tables';

export type Tasks = {
  /** The open tasks of this studio, the one touched last first. */
  tasks(): Promise<KeptTask[]>;
  /** The tasks that were put away as unfinished, the last first. */
  filed(): Promise<KeptTask[]>;
  /** Puts a task away as unfinished. It is kept. */
  fileTask(id: string): Promise<void>;
};

export function tasks(home: Home): Tasks {
  const { engine } = home;
  const studio = () => home.device.studio;
  const kept = async (filed: boolean) => {
    const all = await engine.run(['tasks'], 'read', (tx) => tx.list('tasks', within(studio())));
    return all.filter((t) => (t.filed === true) === filed).sort((a, b) => b.touchedAt - a.touchedAt);
  };
  return {
    tasks: () => kept(false),
    filed: () => kept(true),
    fileTask: (id) =>
      engine.run(['tasks'], 'write', async (tx) => {
        const task = await tx.get('tasks', [studio(), id]);
        if (task) tx.put('tasks', { ...task, filed: true });
      }),
  };
}
