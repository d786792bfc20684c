/** The headings of the tables that can be saved, and what the files are called. */
export const tableNames = ['readings', 'turns', 'recipes'] as const;
export type TableName = (typeof tableNames)[number];

export const headings = {
  readings: [
    ...['When', 'Machine', 'Bobbin case', 'Bobbin thread', 'Bobbin', 'Fill', 'Reading', 'Drops (in)', 'Drops say'],
    ...['Left out', 'Answer', 'Mark (clock minute)', 'Gauge (gf)', 'Cut off', 'By', 'Id'],
  ],
  turns: [
    ...['When', 'Screw', 'Machine', 'Bobbin case', 'What', 'Minutes on the clock (+ tighter)', 'Dial'],
    ...['Why', 'Struck out', 'By', 'Id'],
  ],
  recipes: [
    ...['Name', 'When', 'Machine', 'Bobbin case', 'Top thread', 'Bobbin thread', 'Bobbin', 'Fill', 'Drop (in)'],
    ...['Top from flush (minutes on the clock)', 'Top dial', 'Bobbin screw, a hint (minutes)', 'Needle', 'Batting'],
    ...[
      'Backing',
      'Stitches per inch',
      'Kind of work',
      'Score of its last lines',
      'Worked the last time',
      'What to remember',
      'By',
      'Id',
    ],
  ],
} as const satisfies { readonly [table in TableName]: readonly string[] };

export const tableFile = (table: TableName, day: string): string => `evenpull-${table}-${day}.csv`;
