package prove
import ("testing";"fmt";"os";"time";"telltale/engine")
func TestDump(t *testing.T){
 if os.Getenv("DUMP")=="" {t.Skip()}
 b,s:=builtInSuite(t)
 b=b.WithoutFirmness()
 f,_:=os.Create(os.Getenv("DUMP")); defer f.Close()
 for _,p:=range s.Proofs{ t0:=time.Now(); r,err:=engine.Tell(b,p.Case); d:=time.Since(t0)
  fmt.Fprintf(f,"%s (%s) err=%v %dms\n",p.ID,p.Pos.File,err,d.Milliseconds())
  if r==nil {continue}
  for i,c:=range r.Causes { if i<4 {fmt.Fprintf(f,"   # %s %.3f\n",at{c.Cause,c.Place},c.Probability)}}
  for _,tr:=range r.Troubles{
   fmt.Fprintf(f,"  T:")
   for _,x:=range tr.Failed {fmt.Fprintf(f," %s(%s) %.3f",at{x.Cause,x.Place},x.Role,x.Probability)}
   fmt.Fprintf(f,"\n     by itself %.3f",tr.ByItself)
   for i,x:=range tr.BroughtOnBy { if i<5 {fmt.Fprintf(f," | %s %.3f %s",at{x.Cause,x.Place},x.Probability,x.Through)}}
   fmt.Fprintf(f,"\n     or")
   for _,x:=range tr.Or {fmt.Fprintf(f," %s %.3f",at{x.Cause,x.Place},x.Probability)}
   fmt.Fprintf(f,"\n")
  }
 }
}
