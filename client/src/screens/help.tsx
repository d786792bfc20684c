/** How it works: the lock to be moved by hand, and every task in a picture and three sentences. */
import { useState } from 'preact/hooks';
import type { TaskName } from '../domain/task';
import { help, text } from '../text/help';
import { taskTitle } from '../text/task-title';
import { Card, Row } from '../ui/card';
import { Columns } from '../ui/columns';
import { LockSlider } from '../ui/lock-slider';
import { TaskHelp } from './help/task-help';
import { LightDoor } from './light';
import { AtPlace } from './place';
import type { ScreenProps } from './shell';
import { threadColours } from './task/parts';

export function Help({ state }: ScreenProps) {
  const [task, setTask] = useState<TaskName>();
  return (
    <AtPlace state={state} place="people">
      <h1>{text.title}</h1>
      <Columns
        left={
          <Card title={text.lock}>
            <p>{text.intro}</p>
            <p>{text.lockHow}</p>
            <LockSlider {...threadColours(state.ctx)} />
          </Card>
        }
        right={
          <>
            <Card title={text.tasks}>
              {(Object.keys(help) as TaskName[]).map((name) => (
                <Row key={name} title={taskTitle[name]} detail={help[name][0]} onOpen={() => setTask(name)} />
              ))}
            </Card>
            <Card title={text.light}>
              <p>{text.lightNote}</p>
              <LightDoor />
            </Card>
          </>
        }
      />
      {task && <TaskHelp task={task} ctx={state.ctx} onClose={() => setTask(undefined)} />}
    </AtPlace>
  );
}
