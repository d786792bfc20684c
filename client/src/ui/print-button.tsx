/** Opens the browser's own printing. */
export const PrintButton = ({ label }: { label: string }) => (
  <button type="button" class="main-act" onClick={() => print()}>
    {label}
  </button>
);
