/** Blank rows for a room of machines: who, what everybody does alone first, and how it stands. */
import { classRows, type Paper as Size } from '../../domain/sheet';
import { text } from '../../text/paper';
import { Paper } from '../../ui/paper';

export function ClassSheet({ size }: { size: Size }) {
  return (
    <Paper size={size} title={text.class} bar={text.bar}>
      <p>{text.classWhere} ____________________</p>
      <p>{text.classHow}</p>
      <table>
        <thead>
          <tr>
            <th scope="col">{text.classHeads.who}</th>
            {text.classTicks.map((t) => (
              <th key={t} scope="col" class="tick">
                {t}
              </th>
            ))}
            <th scope="col" class="state">
              {text.classHeads.state}
            </th>
          </tr>
        </thead>
        <tbody>
          {Array.from({ length: classRows[size] }, (_, i) => (
            <tr key={String(i)}>
              <td>{i + 1}</td>
              {text.classTicks.map((t) => (
                <td key={t} />
              ))}
              <td />
            </tr>
          ))}
        </tbody>
      </table>
      <p>{text.classState}</p>
    </Paper>
  );
}
